"""A reader's notes beside a netlist change how it is told: names, supplies, what is meant, slips accepted, places."""

import pytest

from layoutdrill.cli import main
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.spice import write_spice
from layoutdrill.reading.explain import explain_file
from layoutdrill.reading.notes import first_notes, notes_beside, read_notes
from tests.reading.netlists import all_cases, planted

CASES = {case.name: case for case in all_cases()}


def written(tmp_path, netlist, notes=""):
    """Return the path of a netlist, with notes beside it."""
    path = tmp_path / "die.sp"
    path.write_text(write_spice(netlist))
    if notes:
        notes_beside(path).write_text(notes)
    return path


def test_a_net_that_holds_by_charge_on_purpose_is_no_slip(tmp_path):
    """An NMOS stage without its load is told; noted as dynamic it is not."""
    netlist, _, _ = planted(CASES["complex_nmos"].netlist, ("drop", "s1.load"))
    found = explain_file(written(tmp_path, netlist))
    assert [(s.kind, s.nets) for s in found.slips] == [("missing load", ("s1",))]
    found = explain_file(written(tmp_path, netlist, "dynamic: [s1]\n"))
    assert found.slips == ()


def test_an_accepted_slip_is_told_with_its_reason(tmp_path):
    """It is no slip any more, and is not forgotten either."""
    netlist, _, _ = planted(CASES["complex_nmos"].netlist, ("drop", "s1.load"))
    notes = "accepted:\n- slip: missing load\n  at: s1\n  because: the load is off the edge of the photograph\n"
    found = explain_file(written(tmp_path, netlist, notes))
    assert found.slips == ()
    assert "accepted, the load is off the edge of the photograph: missing load" in found.text()


def test_names_and_places_are_used(tmp_path):
    """A net goes by the name it is given, and a slip points at where its device lies."""
    netlist, _, _ = planted(CASES["gates"].netlist, ("drop", "c2.p0"))
    device = next(t.name for t in netlist.transistors if t.name.startswith("c2.n0"))
    spelt = f"M{device}"
    found = explain_file(written(tmp_path, netlist, f"nets: {{c2: carry}}\nplaces: {{{spelt}: [120, 45.5]}}\n"))
    (slip,) = found.slips
    assert slip.kind == "missing device"
    assert slip.nets == ("carry",)
    assert "(at 120, 45.5)" in found.text()


def test_two_nets_may_change_names(tmp_path):
    """What was taken for the one is the other."""
    netlist = CASES["complex_nmos"].netlist
    right, turned = (explain_file(written(tmp_path, netlist, notes)) for notes in ("", "nets: {s0: s1, s1: s0}\n"))
    names = {"s0": "s1", "s1": "s0"}
    assert {t.renamed(names) for t in right.netlist.transistors} == set(turned.netlist.transistors)
    assert turned.heading == right.heading


def test_notes_beside_a_layout_count(tmp_path):
    """A drawing of an inverter, its output by another name, and a slip that is none."""
    path = tmp_path / "die.gds"
    main(["draw", "inverter", "--process", "silicon-gate-cmos", "-o", str(path)])
    notes_beside(path).write_text("nets: {y: out}\n")
    assert "out = !a" in explain_file(path, "silicon-gate-cmos").text()
    notes_beside(path).write_text("nets: {q: out}\n")
    with pytest.raises(LayoutdrillError, match=r'die\.notes\.yaml:1:8: no net "q"'):
        explain_file(path, "silicon-gate-cmos")


def test_supplies_are_those_noted(tmp_path):
    """Without labels that tell, the notes say which nets are the supplies."""
    case = CASES["gates"]
    netlist = case.netlist
    renamed = {"VDD": "n900", "VSS": "n901"}
    netlist = type(netlist)(
        "die", tuple(renamed.get(p, p) for p in netlist.ports), tuple(t.renamed(renamed) for t in netlist.transistors)
    )
    found = explain_file(written(tmp_path, netlist, "supplies: {n900: 1, n901: 0}\n"))
    assert found.heading == "4-bit ripple adder"
    assert "supplies as given" in found.text()


@pytest.mark.parametrize(
    ("notes", "words"),
    [
        ("dynamic: [s9]\n", r'die\.notes\.yaml:1:11: no net "s9"'),
        ("nets: {n99: carry}\n", r'1:8: no net "n99"'),
        ("nets: {VDD: VSS}\n", r'1:13: "VSS" is the name of another net; give each net a name of its own'),
        ("nets: [VDD]\n", r"1:7: a mapping expected, a list found"),
        ("nets: {VDD: v, VDD: w}\n", r'1:16: "VDD" is given twice'),
        ("groups:\n  row: [M99]\n", r'2:9: no device "M99"'),
        ("supplies: {VDD: 2, VSS: 0}\n", r"1:17: 2 is out of range; give a whole number from 0 to 1"),
        ("supplies: {VDD: 1}\n", r"1:11: every supply is 1; name the net that is 0 as well"),
        ("supplies:\n  VD: 1\n", r'2:3: no net "VD" in .*; did you mean "VDD"'),
        ("clocks: [q]\n", r'1:10: no net "q"'),
        ("open drain: [padd]\n", r'1:14: no net "padd"'),
        ("opendrain: [VDD]\n", r'1:1: no field "opendrain" here; did you mean "open drain"'),
        ("places: {M99: [1, 2]}\n", r'1:10: no device "M99"'),
        ("accepted:\n- {slip: nonsense, at: VDD, because: x}\n", r'2:10: no slip "nonsense"'),
        ("accepted:\n- {slip: missing load, at: VDD}\n", r'2:3: field "because" is missing'),
        ("accepted:\n- {slip: missing load, at: M99, because: x}\n", r'2:28: no net or device "M99"'),
        ("clock: [s1]\n", r'1:1: no field "clock" here; did you mean "clocks"'),
        ("nets: {VDD: v\n", r"not YAML"),
        ("dynamic: [[s1]]\n", r"1:11: the name of a net expected, a list found"),
        ('nets: {s1: ""}\n', r'1:12: "" is no name of a net; write one word'),
        ("nets: {s1: sum one}\n", r'1:12: "sum one" is no name of a net; write one word'),
    ],
)
def test_what_the_netlist_does_not_have_is_told_with_its_place(tmp_path, notes, words):
    """An error names file, line and column, and what was meant."""
    path = written(tmp_path, CASES["complex_nmos"].netlist, notes)
    with pytest.raises(LayoutdrillError, match=words):
        explain_file(path)


def test_first_notes_can_be_read_again(tmp_path):
    """What explain writes to begin with is a side file that changes nothing."""
    netlist, _, _ = planted(CASES["ram_4x4_cmos"].netlist, CASES["ram_4x4_cmos"].slips[0])
    path = written(tmp_path, netlist)
    found = explain_file(path)
    notes_beside(path).write_text(first_notes(found.recognition, found.slips))
    notes = read_notes(notes_beside(path), found.netlist)
    assert notes.supplies == {"VDD": 1, "VSS": 0}
    again = explain_file(path)
    assert (again.heading, again.slips) == (found.heading, found.slips)


def test_the_command_says_by_its_exit_whether_there_are_slips(tmp_path, capsys):
    """0 where none is found, 1 where there are some; slips come first."""
    right = written(tmp_path, CASES["equal"].netlist)
    assert main(["explain", str(right)]) == 0
    assert "4-bit equality comparator" in capsys.readouterr().out
    netlist, _, _ = planted(CASES["equal"].netlist, CASES["equal"].slips[0])
    wrong = written(tmp_path, netlist)
    assert main(["explain", str(wrong), "--depth", "1", "--begin-notes"]) == 1
    told = capsys.readouterr().out
    assert told.index("Slips") < told.index("Outline")
    assert notes_beside(wrong).is_file()
    assert main(["explain", str(wrong), "--begin-notes"]) == 2
