"""What a cell's netlist promises, its drawing keeps: a kind that is askable is asked, one that is not never is."""

from layoutdrill.cells import load_cell
from layoutdrill.dice import Dice
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from tests.each import each
from tests.sampling import covering

WORKED = ("table", "function", "sequence", "address", "measurement", "other convention", "transcribe", "reading check")
CASES = [
    (process, cell)
    for process in ("silicon-gate-cmos", "silicon-gate-nmos", "metal-gate-sapphire")
    for cell in ("inverter", "nand2", "transmission_gate", "mux2_tg", "latch_static", "latch_gates", "half_adder",
                 "xor2_compact", "tristate", "ram_6t")
    if load_cell(cell).fits(load_process(process))
]  # fmt: skip


@each(("process", "cell"), covering(CASES, 2))
def test_what_is_askable_is_asked(drawn, process, cell):
    """Over a few dice: asked exactly where the netlist and the roles of the ports say so."""
    made = load_process(process)
    known = load_cell(cell)
    for name in WORKED:
        kind = kinds()[name]
        promised = kind.askable(known.netlist(made), made, known.ports)
        asked = any(kind.ask(drawn(cell, process, 1), Dice(seed)) is not None for seed in range(6))
        assert asked == promised, name
