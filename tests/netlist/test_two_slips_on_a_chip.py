"""Two slips at once on a whole chip, its nets named anew: each is told at its transistor, and nothing else is."""

from dataclasses import replace
from random import Random

from layoutdrill.cells.chips import load_chip
from layoutdrill.netlist.compare import compare
from layoutdrill.process import load_process
from tests.reading.netlists import planted, shuffled


def test_both_are_told():
    """551 transistors, of which hundreds look alike as far as a few neighbours around."""
    right = load_chip("lamp_flash_timer").netlist(load_process("silicon-gate-cmos"))
    slips = (("gate", "M244", "prescaler_x7"), ("gate", "M134", "lostn"))
    wrong = right
    for slip in slips:
        wrong, _, _ = planted(wrong, slip)
    other, names = shuffled(wrong, Random(1))
    back = {names[port]: port for port in right.ports}
    other = replace(
        other, ports=right.ports, transistors=tuple(t.renamed(back) for t in other.transistors)
    )  # fmt: skip
    told = [line for line in compare(right, other).differences if line.startswith("transistor ")]
    assert sorted(line.split()[1] for line in told) == sorted(name for _, name, *_ in slips)
