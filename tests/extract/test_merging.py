"""Parallel fingers and the private nodes of parallel stacks, merged on request."""

from layoutdrill.netlist.merge import merge_fingers, merge_stacks
from layoutdrill.netlist.model import Kind, Netlist, Transistor


def n(name, gate, source, drain, width=1000, length=150, body="VSS"):
    return Transistor(name, Kind.N, gate, source, drain, body, length, width)


def lines(netlist):
    return [line for line in netlist.text().splitlines() if "gate=" in line]


def test_fingers_add_up():
    """Same gate, ends (either way round), body and length: widths and fingers add, the first name stays."""
    netlist = Netlist("x", ("A", "Y", "VSS"), (n("M1", "A", "VSS", "Y"), n("M2", "A", "Y", "VSS", 500)))
    (merged,) = merge_fingers(netlist).transistors
    assert (merged.name, merged.width, merged.fingers) == ("M1", 1500, 2)


def test_what_differs_stays_apart():
    """Another length, gate, body or end: no finger of the same transistor."""
    devices = (
        n("M1", "A", "VSS", "Y"),
        n("M2", "A", "VSS", "Y", length=300),
        n("M3", "B", "VSS", "Y"),
        n("M4", "A", "VSS", "Y", body="B"),
        n("M5", "A", "VSS", "Z"),
    )
    assert len(merge_fingers(Netlist("x", ("A", "B", "Y", "Z", "VSS"), devices)).transistors) == 5


def test_parallel_stacks_become_one():
    """Two stacks of two, each with a node of its own: one stack of double width."""
    netlist = Netlist(
        "x",
        ("A", "B", "Y", "VSS"),
        (n("M1", "A", "Y", "p"), n("M2", "B", "p", "VSS"), n("M3", "B", "VSS", "q"), n("M4", "A", "q", "Y")),
    )
    assert len(merge_fingers(netlist).transistors) == 4
    assert lines(merge_stacks(netlist)) == [
        "nmos M1 gate=A ends=Y,p body=VSS L=150 W=2000",
        "nmos M2 gate=B ends=VSS,p body=VSS L=150 W=2000",
    ]


def test_deep_stacks_and_shared_nodes():
    """Stacks of three, one of them drawn with doubled fingers throughout: the ratio is the same, so they merge."""
    devices = []
    for k, width in (("p", 1000), ("q", 2000)):
        devices += [
            n(f"A{k}", "A", "Y", k, width),
            n(f"B{k}", "B", k, f"{k}2", width),
            n(f"C{k}", "C", f"{k}2", "VSS", width),
        ]
    merged = merge_stacks(Netlist("x", ("A", "B", "C", "Y", "VSS"), tuple(devices)))
    assert [(t.gate, t.width) for t in merged.transistors] == [("A", 3000), ("B", 3000), ("C", 3000)]


def test_stacks_in_another_order_stay_apart():
    """A above B and B above A meet at nodes with other voltages; so do stacks of another ratio of widths."""
    other = (n("M1", "A", "Y", "p"), n("M2", "B", "p", "VSS"), n("M3", "B", "Y", "q"), n("M4", "A", "q", "VSS"))
    assert len(merge_stacks(Netlist("x", ("A", "B", "Y", "VSS"), other)).transistors) == 4
    other = (n("M1", "A", "Y", "p"), n("M2", "B", "p", "VSS"), n("M3", "A", "Y", "q", 3000), n("M4", "B", "q", "VSS"))
    assert len(merge_stacks(Netlist("x", ("A", "B", "Y", "VSS"), other)).transistors) == 4


def test_a_switch_between_two_like_nodes_is_not_shorted():
    """Two nodes that look alike but have a transistor between them are not joined."""
    devices = (n("M1", "A", "Y", "p"), n("M2", "A", "Y", "q"), n("M3", "B", "p", "q"))
    assert len(merge_stacks(Netlist("x", ("A", "B", "Y", "VSS"), devices)).transistors) == 3


def test_nodes_that_float_are_not_joined():
    """Islands that no transistor leads away from keep their charge to themselves."""
    devices = (n("M1", "A", "p", "p2"), n("M2", "A", "q", "q2"))
    assert len(merge_stacks(Netlist("x", ("A",), devices)).transistors) == 2


def test_ports_and_gate_nets_are_never_joined():
    """A node that drives a gate, or that a port names, is not private."""
    devices = (
        n("M1", "A", "Y", "p"),
        n("M2", "B", "p", "VSS"),
        n("M3", "A", "Y", "q"),
        n("M4", "B", "q", "VSS"),
        n("M5", "q", "Z", "VSS"),
    )
    assert len(merge_stacks(Netlist("x", ("A", "B", "Y", "Z", "VSS"), devices)).transistors) == 5
