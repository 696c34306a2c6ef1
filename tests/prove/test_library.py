"""
Every cell of the library, in the processes that it fits: drawn, proved, and recognised by its own name.

One drawing of a pair serves all three claims; how crowded it is goes round from pair to pair. Each cell and each
process comes in every run, each pair of them in a whole sweep (`tests/sampling.py`). The library's names
and roles are written independently of recognition, which never sees them.
"""

from collections import Counter

from layoutdrill.cells.library import cell_names, library
from layoutdrill.cells.model import Style, style_of
from layoutdrill.drawing.edge import AT_THE_EDGE
from layoutdrill.netlist.roles import Role
from layoutdrill.process import load_process, process_names
from layoutdrill.prove import proof, proved
from layoutdrill.recognise.terms import canonical
from layoutdrill.recognise.whole import recognise
from layoutdrill.rules import check
from tests.each import each
from tests.sampling import covering

PROCESSES = [load_process(name) for name in process_names() if load_process(name).drawing is not None]

# Transistor counts of textbooks: Weste & Harris, Rabaey, Uyemura. The inverter, NAND, NOR, AND and OR as in the course
# notes of Georgia Tech ECE2030, the Schmitt inverter as in course slides, exclusive or of 8 and of 6 and the latches
# of 8 and of 10 as in an encyclopedia; the others from memory.
COUNTS = {
    "inverter": 2, "nand2": 4, "nand3": 6, "nand4": 8, "nor2": 4, "nor3": 6, "nor4": 8,
    "and2": 6, "and3": 8, "and4": 10, "or2": 6, "or3": 8, "or4": 10,
    "aoi21": 6, "oai21": 6, "aoi22": 8, "oai22": 8, "aoi222": 12, "oai222": 12,
    "transmission_gate": 2, "transmission_gate_own": 4, "tristate": 4, "tristate_own": 6,
    "mux2_pass": 2, "mux2_tg": 6, "mux2_tristate": 10, "mux2_gates": 14,
    "xor2_nand": 16, "xor2_aoi": 12, "xor2_nor": 10, "xor2_tg": 8, "xor2_compact": 6,
    "latch_dynamic": 4, "latch_static": 8, "latch_static_clock": 10, "latch_gates": 18,
    "ff_clocked": 8, "ff_switches": 16, "ff_nand": 26, "ram_6t": 6, "ram_8t": 8, "schmitt": 6,
    "precharged_nand2_unfooted": 3, "precharged_nand2": 4, "domino_and2": 6, "domino_and2_keeper": 7,
    "full_adder": 28, "full_adder_mirror": 28,
}  # fmt: skip

# A gate of k literals with a load has k + 1 transistors; super buffer 4, static latch 6 (Mead & Conway, from memory).
LOADED_COUNTS = {
    "inverter": 2, "nand2": 3, "nand3": 4, "nor2": 3, "nor3": 4, "aoi21": 4, "oai21": 4, "aoi22": 5, "oai22": 5,
    "super_buffer": 4, "latch_pass": 6,
}  # fmt: skip

PAIRS = [(name, process) for name in cell_names() for process in PROCESSES if library()[name].fits(process)]
TAKEN = covering(PAIRS)
DIFFICULTIES = (0, 0.5, 1)

SAME = {("address", "input"), ("input", "reset")}
"""
Roles that a lone cell cannot tell: (the library's, what is seen). An address is an input until there are several; what
clears a marker when its word is taken is a reset like any other.
"""


def own_names(cell):
    """Return the cell's structure and listed equivalents, in canonical terms as well."""
    names = {cell.structure, *cell.aliases}
    return names | {c for n in names if (c := canonical(n))}


def fingers(netlist):
    """Return the most fingers of any transistor, drawn apart or counted as one."""
    apart = Counter((t.gate, t.ends, t.kind) for t in netlist.transistors)
    return max(*apart.values(), *(t.fingers for t in netlist.transistors))


def base_of(seen, name):
    """Return the port that is seen as the complement of `name`: which of the two comes first cannot be told."""
    return next((p.net for p in seen.values() if p.complement_of == name), None)


def roles_differ(cell, found):
    seen = {p.net: p for p in found.ports if p.role is not Role.SUPPLY}
    for port in cell.ports:
        other = seen.get(port.name)
        if other is None:
            yield f"{port.name} is not seen"
        elif str(other.role) != str(port.role) and (str(port.role), str(other.role)) not in SAME:
            yield f"{port.name} is {other.role} and not {port.role}"
        elif port.complement_of and port.complement_of not in (other.complement_of, base_of(seen, port.name)):
            yield f"{port.name} is not seen as the complement of {port.complement_of}"


def textbook_count(name, process):
    """Return how many transistors textbooks give the cell in the process's logic style, None where none is at hand."""
    return (COUNTS if style_of(process) is Style.COMPLEMENTARY else LOADED_COUNTS).get(name)


@each("number", range(len(TAKEN)), ids=lambda n: f"{TAKEN[n][0]}-{TAKEN[n][1].name}")
def test_every_cell_is_drawn_proved_and_recognised(number):
    """
    A rule-clean drawing is read back as the cell, fingers merged, with as many transistors as textbooks say; what is
    read from it, and the cell's own netlist, is called by the cell's name, each port by its role.
    """
    name, process = TAKEN[number]
    cell = library()[name]
    netlist = cell.netlist(process)
    turn = number % len(DIFFICULTIES)
    drawing = proved(netlist, process, 2 * turn, difficulty=DIFFICULTIES[turn], neighbours=True)
    assert check(drawing.layout, process) == ()
    assert turn or name.startswith(AT_THE_EDGE) or not drawing.strangers
    count = textbook_count(name, process)
    if count is not None:
        assert len(proof.merge_fingers(drawing.cell).transistors) == count
    read = [netlist]
    if fingers(drawing.cell) >= min(4, fingers(netlist)):  # else drawn without its fingers, which its name rests on
        read.append(drawing.cell)
    for seen in read:
        found = recognise(seen)
        assert set(found.names) & own_names(cell), found.names
        assert list(roles_differ(cell, found)) == []
        assert found.leftover == ()


def test_netlists_have_as_many_transistors_as_textbooks_say():
    """Every name in the tables is a cell; they speak for 200 pairs and more, and are right for each, drawn or not."""
    assert {*COUNTS, *LOADED_COUNTS} <= set(cell_names())
    counts = {pair: textbook_count(*pair) for pair in PAIRS}
    for (name, process), count in counts.items():
        if count is not None:
            assert len(proof.merge_fingers(library()[name].netlist(process)).transistors) == count, (name, process)
    assert sum(count is not None for count in counts.values()) >= 200


def test_all_ways_to_draw_are_met_in_every_process():
    """Tidy, middling and crowded drawings come in each process, so that no way is left out where it matters."""
    met = {(process.name, number % len(DIFFICULTIES)) for number, (_, process) in enumerate(TAKEN)}
    assert met == {(process.name, turn) for process in PROCESSES for turn in range(len(DIFFICULTIES))}


def test_names_by_fingers_are_seen_on_drawings():
    """A cell that is known by its fingers is drawn with them at least once, so that the exception stays one."""
    fingered = [(name, process) for name, process in PAIRS if fingers(library()[name].netlist(process)) >= 4]
    assert any(
        fingers(proved(library()[name].netlist(process), process, seed).cell) >= 4
        for name, process in fingered[:3]
        for seed in range(2)
    )
