"""Resistors and diodes drawn, read back by their form and compared; what nobody could read is refused."""

from dataclasses import replace

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Element
from layoutdrill.process import load_process, process_names
from layoutdrill.prove.proof import proved
from tests.each import each

CELLS = ("pad_in", "pad_in_clamped", "oscillator_rc")
FITTING = [(name, p) for name in CELLS for p in process_names() if load_cell(name).fits(load_process(p))]


@each(("name", "process"), FITTING)
def test_cells_with_them_are_proved(name, process):
    """In each process that has what they need; the devices read are those of the cell."""
    cell, process = load_cell(name), load_process(process)
    netlist = cell.netlist(process)
    found = proved(netlist, process, 5, difficulty=0.4)
    assert sorted(e.kind for e in found.extraction.netlist.elements) == sorted(e.kind for e in netlist.elements)
    assert found.extraction.netlist.count() == sum(t.fingers for t in netlist.transistors)


def resistor(process, **sizes):
    """Return an inverter whose input comes through a resistor of the material given, with L and W in µm."""
    made = sizes.pop("of", "")
    inverter = load_cell("inverter").netlist(process)
    values = tuple((key, f"{size}u") for key, size in sizes.items())
    ports = tuple("from" if port == "a" else port for port in inverter.ports)
    return replace(inverter, ports=ports, elements=(Element("R1", "resistor", made, ("from", "a"), values),))


@pytest.mark.parametrize(
    ("name", "made", "sizes"),
    [
        ("silicon-gate-cmos", "poly", {"L": 300, "W": 6}),
        ("silicon-gate-nmos", "poly", {"L": 300}),
        ("metal-gate-sapphire", "diffused", {"L": 600, "W": 12}),
        ("silicon-gate-cmos-2m", "diffused", {"L": 241.5}),
        ("metal-gate-cmos", "well", {}),
    ],
)
def test_a_size_that_is_given_is_kept(name, made, sizes):
    """To the grid unit, on the drawing as it is read back."""
    process = load_process(name)
    found = proved(resistor(process, of=made, **sizes), process, 2)
    (drawn,) = found.extraction.netlist.elements
    assert drawn.model == made
    for key, size in sizes.items():
        assert dict(drawn.values)[key] == f"{size}u"


@pytest.mark.parametrize(
    ("sizes", "said"),
    [
        ({"L": 60}, "R1 has 10.0 squares, and so few are read as a wire; make it 20 squares or more"),
        (
            {"L": 600, "W": 3},
            "W of R1 is too narrow for its contacts in silicon-gate-cmos; use 6 µm or more, or leave it out",
        ),
    ],
)
def test_a_size_that_cannot_be_read_is_refused(sizes, said):
    """Never drawn otherwise than asked for."""
    process = load_process("silicon-gate-cmos")
    with pytest.raises(LayoutdrillError) as caught:
        proved(resistor(process, **sizes), process, 1)
    assert str(caught.value) == said


@pytest.mark.parametrize(
    ("name", "element", "said"),
    [
        ("silicon-gate-cmos", ("D1", "diode", ("a", "y")), "D1 leads from a to y"),
        (
            "metal-gate-sapphire",
            ("D1", "diode", ("VSS", "a")),
            "D1 is a diode, which metal-gate-sapphire does not have",
        ),
        ("silicon-gate-cmos", ("C1", "capacitor", ("a", "y")), "C1 is a capacitor, which is drawn as a transistor"),
        (
            "metal-gate-pmos",
            ("R1", "resistor", ("a", "y")),
            "R1 is a poly resistor, which metal-gate-pmos does not have",
        ),
    ],
)
def test_what_a_process_does_not_have_is_refused(name, element, said):
    """With the reason, before anything is drawn."""
    process = load_process(name)
    netlist = load_cell("inverter").netlist(process)
    label, kind, nodes = element
    made = "poly" if "poly" in said else ""
    with pytest.raises(LayoutdrillError, match=said):
        proved(replace(netlist, elements=(Element(label, kind, made, nodes),)), process, 1)
