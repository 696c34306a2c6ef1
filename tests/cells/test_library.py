"""The library is whole: names, terms, look-alikes and aliases agree with each other and with the trade."""

import pytest

from layoutdrill.cells import cell_names, check_library, load_cell
from layoutdrill.cells.library import read_cell, read_cells
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process, process_names
from layoutdrill.recognise.terms import canonical, family
from layoutdrill.yamldoc import loads
from tests.each import each

TWO_NAMES = {
    ("driver_high_voltage", "open-drain output"),
    ("driver_lamp", "open-drain output"),
    ("pad_open_drain", "open-drain output"),
    ("decoder3_7", "NAND3"),
    ("ff_clocked", "shift-register bit"),
    ("level_restorer", "keeper"),
    ("mux2_tristate", "inverting multiplexer"),
    ("output_driver", "super buffer"),
    ("parity_3", "parity tree"),
}
"""Cells that are two things at once: the other name is right as well."""


def test_the_library_holds_together():
    """Cells that are used or mistaken exist, and uses join every port."""
    check_library()


@each("name", cell_names())
def test_a_structure_is_a_term_of_the_trade(name):
    """And no alias is the canonical term of another structure, but for cells that are two things at once."""
    cell = load_cell(name)
    assert canonical(cell.structure) in (cell.structure, None)
    for alias in cell.aliases:
        meant = canonical(alias)
        assert meant in (None, cell.structure, family(cell.structure)) or {(name, meant), (name, alias)} & TWO_NAMES, (
            alias
        )


@each("name", cell_names())
def test_a_cell_is_whole_in_every_process_that_it_fits(name):
    """Its netlist has the rails that it uses first, then its ports in the order listed, and no net that hangs loose."""
    cell = load_cell(name)
    for process in (load_process(p) for p in process_names()):
        if not cell.fits(process):
            continue
        netlist = cell.netlist(process)
        own = tuple(port.name for port in cell.ports)
        rails = tuple(port for port in netlist.ports if port in process.rails)
        assert netlist.ports == (*rails, *own)
        touched = [net for t in netlist.transistors for net in (t.gate, *t.ends)]
        for net in netlist.nets:
            assert net in own or net in process.rails or touched.count(net) >= 2, net
        assert len({t.name for t in netlist.transistors}) == netlist.count()


def test_bodies_are_tied_where_there_is_something_to_tie():
    """To the rails in a process with wells, to nothing on sapphire (films float; US patent 4053916)."""
    cell = load_cell("inverter")
    assert cell.netlist(load_process("silicon-gate-cmos")).text() == (
        "netlist inverter\nports VSS VDD a y\nnmos M1 gate=a ends=VSS,y body=VSS\npmos M2 gate=a ends=VDD,y body=VDD\n"
    )
    assert cell.netlist(load_process("metal-gate-sapphire")).text() == (
        "netlist inverter\nports VSS VDD a y\nnmos M1 gate=a ends=VSS,y\npmos M2 gate=a ends=VDD,y\n"
    )


def test_devices_come_in_the_order_written():
    """The first literal of a product is nearest the output, in the pull-down and side by side in the pull-up."""
    assert load_cell("aoi21").netlist(load_process("metal-gate-sapphire")).text() == (
        "netlist aoi21\nports VSS VDD a b c y\n"
        "nmos M1 gate=a ends=x1,y\n"
        "nmos M2 gate=b ends=VSS,x1\n"
        "nmos M3 gate=c ends=VSS,y\n"
        "pmos M4 gate=a ends=VDD,x2\n"
        "pmos M5 gate=b ends=VDD,x2\n"
        "pmos M6 gate=c ends=x2,y\n"
    )


def test_an_unknown_cell_is_told_with_a_near_one():
    """A slip in a name gets a suggestion."""
    with pytest.raises(LayoutdrillError, match='no cell "nad2"; did you mean "nand2"'):
        load_cell("nad2")


HEAD = "name: own\ntitle: t\nstructure: s\nlook for: l\nports: {a: input, b: input, y: output}\n"
WRONG = [
    ("function: y = !(a*b\n", "own.yaml:6:16: this parenthesis is not closed; add a )"),
    ("function: y = !(a*x)\n", 'own.yaml:6:19: no signal "x"; known: a, b'),
    ("function: z = a\n", "own.yaml:1:1: output y is given no value; add “y = …”"),
    ("function: '!(a*b)'\n", "own.yaml:6:11: no output is named; write “y = …”"),
    (
        "function: |\n  y = a\n  y = b\n",
        "own.yaml:8:3: “y” has its value already; give each output one equation",
    ),
    ("does: x\n", "own.yaml:1:1: nothing says how it is built; add “function”, “stages”, “netlist” or “spice”"),
    (
        "stages: y = !a\n",
        "own.yaml:1:1: neither a function nor what it does is given; add “function: y = …” or “does: …”",
    ),
    (
        "does: x\nnetlist: |\n  n a VSS\n",
        "own.yaml:8:3: 2 nets after “n”, three expected; write kind, gate and two ends: “n a VSS y”",
    ),
    (
        "does: x\nnetlist: |\n  n a VSS y!\n",
        "own.yaml:8:3: “y!” is no net name; use letters, digits and _, starting with a letter",
    ),
    (
        "does: x\nnetlist: |\n  q a VSS y\n",
        (
            "own.yaml:8:3: “a” joins nothing in “q”"
            "; write “port=net” after a cell's name; a transistor's line starts with n, p, nd or pd"
        ),
    ),
    (
        "does: x\nnetlist: {bipolar: n a VSS y}\n",
        (
            'own.yaml:7:11: no logic style "bipolar"; known: complementary, depletion load, enhancement load, '
            "enhancement load of n"
        ),
    ),
    (
        "does: x\nnetlist: |\n  # nothing\n",
        "own.yaml:7:10: the netlist is empty; write one device a line, such as “n a VSS y”",
    ),
    (
        "function: y = a\nprocesses: [metal-gate-saphire]\n",
        'own.yaml:7:13: no process "metal-gate-saphire"; did you mean "metal-gate-sapphire"?',
    ),
]


@each(("rest", "said"), WRONG)
def test_an_entry_that_is_wrong_says_where_and_what_to_do(rest, said):
    """File, line, column, what, and what to do."""
    with pytest.raises(LayoutdrillError) as caught:
        read_cell(loads(HEAD + rest, "own.yaml").root, "own")
    assert str(caught.value) == said


PORTS = [
    ("{a: inptu, y: output}", 'own.yaml:1:12: no role "inptu"; did you mean "input"?'),
    ("{VDD: input}", "own.yaml:1:14: VDD is a supply, not a port; leave it out: the supplies are always there"),
    ("{a: complement of b}", 'own.yaml:1:12: no port "b" before this one; there is none'),
    ("{}", "own.yaml:1:8: a cell has ports; list them as “a: input”"),
]


@pytest.mark.parametrize(("ports", "said"), PORTS)
def test_ports_that_are_wrong_say_so(ports, said):
    """Each with the place of the value."""
    rest = "\nname: own\ntitle: t\nstructure: s\nlook for: l\nfunction: y = !a\n"
    with pytest.raises(LayoutdrillError) as caught:
        read_cell(loads(f"ports: {ports}{rest}", "own.yaml").root, "own")
    assert str(caught.value) == said


def test_what_makes_no_sense_in_a_process_is_refused_with_the_reason():
    """A cell made for one process names it."""
    entry = HEAD + "function: y = !(a*b)\nprocesses: [metal-gate-sapphire]\n"
    cell = read_cell(loads(entry, "own.yaml").root, "own")
    assert cell.fits(load_process("metal-gate-sapphire"))
    with pytest.raises(
        LayoutdrillError, match="own makes no sense in silicon-gate-cmos; it is made for metal-gate-sapphire"
    ):
        cell.netlist(load_process("silicon-gate-cmos"))


def test_a_circle_of_uses_is_found():
    """A cell that uses itself ends in an error, not in the recursion limit."""
    from layoutdrill.cells.build import build

    entry = (
        "name: own\ntitle: t\nstructure: s\nlook for: l\nports: {a: input, y: output}\ndoes: x\nnetlist: own a=a y=y\n"
    )
    cell = read_cell(loads(entry, "own.yaml").root, "own")
    with pytest.raises(LayoutdrillError, match=r"own\.yaml:7:10: cells use each other in a circle"):
        build(cell, load_process("silicon-gate-cmos"), lambda name: cell)


def test_a_file_of_cells_has_a_family():
    """And an unknown field in an entry is told."""
    with pytest.raises(LayoutdrillError, match='no field "kind" here'):
        read_cells(loads("family: f\ncells:\n  - {name: a, kind: b}\n", "own.yaml").root)
