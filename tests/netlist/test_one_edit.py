"""In regular arrays, one slip is told as one edit, at the device that has it, with its place by word and bit."""

import sys
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from netlists import disguised

from layoutdrill.netlist.compare import compare
from layoutdrill.netlist.grid import place_of
from layoutdrill.netlist.model import Element, Kind, Netlist, Transistor

N, P = Kind.N, Kind.P


def ram(words, bits):
    """Static cells of six transistors (textbook: two crossed inverters and two access transistors)."""
    ports = ["VDD", "VSS", *(f"w{r}" for r in range(words)), *(f"{b}{c}" for b in ("b", "bn") for c in range(bits))]
    parts = []
    for r in range(words):
        for c in range(bits):
            q, qn = f"q{r}_{c}", f"qn{r}_{c}"
            parts += [(N, qn, q, "VSS"), (N, q, qn, "VSS"), (P, qn, q, "VDD"), (P, q, qn, "VDD")]
            parts += [(N, f"w{r}", q, f"b{c}"), (N, f"w{r}", qn, f"bn{c}")]
    return Netlist("ram", tuple(ports), tuple(Transistor(f"M{at}", *part) for at, part in enumerate(parts)))


def rom(words, bits):
    """A plane of transistors between bit lines and ground, about every second one there."""
    rng = Random(4)
    ports = ["VSS", *(f"w{r}" for r in range(words)), *(f"b{c}" for c in range(bits))]
    places = [(r, c) for r in range(words) for c in range(bits) if rng.random() < 0.5]
    return Netlist("rom", tuple(ports), tuple(Transistor(f"M{r}_{c}", N, f"w{r}", f"b{c}", "VSS") for r, c in places))


def slip(netlist, rng):
    """Return the netlist with one transistor changed, its name, and how."""
    at = rng.randrange(len(netlist.transistors))
    t = netlist.transistors[at]
    how = rng.choice(["gate", "end", "kind", "left out"])
    others = [net for net in netlist.nets if net not in t.terminals]
    new = {
        "gate": replace(t, gate=rng.choice(others)),
        "end": replace(t, source=rng.choice(others)),
        "kind": replace(t, kind=P if t.kind is N else N),
        "left out": None,
    }[how]
    rest = (new,) if new else ()
    changed = (*netlist.transistors[:at], *rest, *netlist.transistors[at + 1 :])
    return replace(netlist, transistors=changed), t.name, how


def alike(t, netlist, device):
    """Tell whether a transistor joins the same nets as the device does: then nobody can say which of the two it is."""
    return any(o.name == device and (o.kind, o.gate, o.ends) == (t.kind, t.gate, t.ends) for o in netlist.transistors)


@pytest.mark.parametrize("whole", [ram(4, 4), rom(8, 8)], ids=["ram", "rom"])
def test_a_slip_in_an_array_is_told_once_and_at_its_device(whole):
    """Random single slips, against a copy under other names: at most two sentences, and the right device in them."""
    for seed in range(10):
        wrong, device, how = slip(whole, Random(seed))
        result = compare(wrong, disguised(whole, Random(99)))
        assert not result.equal
        assert len(result.differences) <= 2, (device, how, result.differences)
        told = result.differences[-1]
        same = [t.name for t in wrong.transistors if alike(t, wrong, device)]
        assert any(f"transistor {name} " in told for name in same) or how == "left out", (device, how, told)
        if how == "left out":
            assert "has no counterpart in A" in told or "is not in A" in told


SMALL = {
    "inverter": ["n a y VSS", "p a y VDD"],
    "NAND2": ["n a y k", "n b k VSS", "p a y VDD", "p b y VDD"],
    "AOI21": ["n a y k", "n b k VSS", "n c y VSS", "p a m VDD", "p b m VDD", "p c y m"],
    "latch": ["n en d x", "p ne d x", "n x q VSS", "p x q VDD", "n q z VSS", "p q z VDD", "n ne z x", "p en z x",
              "n en ne VSS", "p en ne VDD"],
}  # fmt: skip


@pytest.mark.parametrize("name", SMALL)
def test_one_edit_is_looked_for_first_in_small_circuits_too(name):
    """Every single slip, however small the circuit: one sentence, with the device at fault or one that is its like."""
    parts = [line.split() for line in SMALL[name]]
    ports = tuple(n for n in ("a", "b", "c", "d", "en", "y", "q", "VDD", "VSS") if any(n in p for p in parts))
    whole = Netlist(
        name, ports, tuple(Transistor(f"M{at}", N if k == "n" else P, *n) for at, (k, *n) in enumerate(parts))
    )
    for seed in range(12):
        wrong, device, how = slip(whole, Random(seed))
        result = compare(wrong, disguised(whole, Random(99)))
        if result.equal:
            continue  # an end that nothing else tells from its like
        (told,) = result.differences
        assert told.startswith("one edit makes them equal: "), (how, told)
        same = [t.name for t in wrong.transistors if alike(t, wrong, device)]
        alone = {n for t in wrong.transistors if t.name == device for n in t.terminals if wrong_alone(wrong, n)}
        assert how == "left out" or alone or any(f"transistor {n} " in told for n in same), (device, how, told)


def wrong_alone(netlist, net):
    """Tell whether nothing else is on a net."""
    return sum(net in t.terminals for t in netlist.transistors) == 1


def test_the_place_is_named_by_word_and_bit():
    """The lines that cross at a device's cell, in the reader's own names; nothing outside an array."""
    assert place_of(ram(4, 4), "M7") == "where word line w0 crosses bit lines b1 and bn1"
    assert place_of(rom(8, 8), "M5_1") == "where word line w5 crosses bit line b1"
    pair = Netlist("pair", ("a", "y"), (Transistor("M1", N, "a", "y", "VSS"), Transistor("M2", P, "a", "y", "VDD")))
    assert place_of(pair, "M1") == ""


def test_one_sentence_names_the_crossing():
    """A transistor left out of a memory plane is told with its word line and its bit line."""
    whole = rom(8, 8)
    gone = next(t for t in whole.transistors if t.name == "M3_5")
    wrong = replace(whole, transistors=tuple(t for t in whole.transistors if t is not gone))
    (line,) = compare(wrong, disguised(whole, Random(1))).differences
    assert line.startswith("one edit makes them equal: transistor ")
    assert f"where word line {gone.gate} crosses bit line {gone.source}" in line
    assert line.endswith(f"is not in A; there it is n-channel, gate {gone.gate}, between VSS and {gone.source}")


def test_a_large_circuit_is_not_paired_where_one_edit_explains_it(monkeypatch):
    """Pairing all devices takes longer by far, and in an array it blames any of them."""

    def describe(*_):
        pytest.fail("all devices were paired")

    monkeypatch.setattr("layoutdrill.netlist.differences.describe", describe)
    whole = ram(6, 6)
    for seed in range(12):
        wrong, device, how = slip(whole, Random(seed))
        result = compare(wrong, disguised(whole, Random(99)))
        (told,) = result.differences
        assert told.startswith("one edit makes them equal: "), (device, how)
        same = [t.name for t in wrong.transistors if alike(t, wrong, device)]
        assert how == "left out" or any(f"transistor {name} " in told for name in same), (device, how, told)


def test_a_diode_the_wrong_way_round_is_one_edit():
    """Its two ends are what the slip is about; which of two resistors it stands at is told as well."""
    clamp = Element("D1", "diode", "", ("pad", "VDD"))
    resistors = [Element(f"R{at}", "resistor", "", ends) for at, ends in enumerate((("pad", "in"), ("in", "VSS")))]
    right = Netlist("pad", ("pad", "in", "VDD", "VSS"), (), (clamp, *resistors))
    wrong = replace(right, elements=(replace(clamp, nodes=clamp.nodes[::-1]), *resistors))
    (said,) = compare(right, wrong).differences
    assert said == "one edit makes them equal: diode D1 has anode and cathode exchanged"
