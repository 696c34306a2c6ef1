"""Any netlist of up to 20 transistors, sensible or not, is drawn and proved, or refused with the reason."""

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from layoutdrill.dice import Dice
from layoutdrill.errors import FaultError, LayoutdrillError
from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.process import load_process, process_names
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.prove import proved
from tests.sampling import examples

DRAWN = [name for name in process_names() if load_process(name).rules]


def scrambled(process, seed, count):
    """Return `count` transistors of the process's kinds between nets drawn by lot; every net is a port."""
    dice = Dice(seed)
    low, high = process.supplies
    nets = [f"n{i}" for i in range(dice.between(2, 3 + count // 2))]
    found = []
    for number in range(count):
        rule = dice.pick(process.transistors)
        body = "" if rule.body is None else (low if rule.kind is Kind.N else high)
        source, drain = dice.pick([*nets, low, high]), dice.pick(nets)
        gate = drain if rule.mode is Mode.DEPLETION and dice.chance(60) else dice.pick(nets)
        found.append(Transistor(f"M{number}", rule.kind, gate, source, drain, body, mode=rule.mode))
    used = {net for t in found for net in t.terminals}
    return Netlist("scrambled", tuple(n for n in (low, high, *nets) if n in used), tuple(found))


@pytest.mark.parametrize("name", DRAWN)
@settings(max_examples=examples(12), deadline=None)
@given(seed=st.integers(0, 2**32), count=st.integers(1, 20), hard=st.integers(0, 4))
@example(seed=2097151, count=1, hard=0)  # one p transistor alone: its well once reached the taps of the other rail
def test_scrambled_netlists_are_drawn_and_proved(name, seed, count, hard):
    """Whatever joins whatever: the drawing is read back as the netlist."""
    process = load_process(name)
    netlist = scrambled(process, seed, count)
    found = proved(netlist, process, seed, difficulty=hard / 4)
    assert sum(t.fingers for t in found.cell.transistors) >= count


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"transistors": ()}, "no transistors"),
        ({"elements": (Element("R1", "resistor", "r", ("a", "y")),)}, "odd has no net VDD"),
        ({"mode": Mode.DEPLETION}, "M1 is a n depletion transistor"),
        ({"length": 1000}, "L of M1, 1000 nm"),
        ({"width": 750}, "W of M1, 750 nm, is too narrow"),
        ({"copies": 4700}, "4700 transistors, fingers counted, too many"),
    ],
)
def test_what_cannot_be_drawn_is_refused_with_the_reason(change, reason):
    """The error names the part and what is wrong with it, and is no fault of the engine."""
    fields = {key: value for key, value in change.items() if key in ("mode", "length", "width")}
    one = [Transistor(f"M{i + 1}", Kind.N, "a", "VSS", "y", "VSS", **fields) for i in range(change.get("copies", 1))]
    netlist = Netlist("odd", ("VSS", "a", "y"), change.get("transistors", tuple(one)), change.get("elements", ()))
    with pytest.raises(LayoutdrillError, match=reason) as error:
        proved(netlist, load_process("silicon-gate-cmos"), 1)
    assert not isinstance(error.value, FaultError)
