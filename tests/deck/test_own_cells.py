"""A deck's own cells are checked against what the deck says of them."""

import pytest

from layoutdrill.cells import find_cell
from layoutdrill.cells.library import read_cell
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.files import load_deck
from layoutdrill.deck.known import every_name
from layoutdrill.deck.own_cells import cell_slips
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import Answer, kinds
from layoutdrill.workshop.model import Feedback
from layoutdrill.workshop.prepare import Wanted, prepare
from layoutdrill.yamldoc import loads
from tests.sampling import spread

ITEM = "  - {cells: [inverter], processes: [silicon-gate-cmos], kinds: [name], seed: 1}\n"
HEAD = f"title: t\nabout: a\nitems:\n{ITEM}cells:\n"
CELL = "  - name: mine\n    title: t\n    look for: l\n"

NAND2 = "n a VSS k|n b k y|p a VDD y|p b VDD y"
OAI21 = "n on VSS k|n a k y|n b k y|p a VDD m|p b m y|p on VDD y"
TWO = "{a: input, b: input, y: output}"
THREE = "{a: input, b: input, on: enable, y: output}"


def entry(structure, ports, built, function="", kind="netlist"):
    """Return a cell's entry: structure on line 9, ports on 10, function on 11, netlist from 13 on."""
    said = f'function: "{function}"' if function else "does: something"
    lines = "".join(f"      {line}\n" for line in built.split("|"))
    return f"{CELL}    structure: {structure}\n    ports: {ports}\n    {said}\n    {kind}: |\n{lines}"


def told(tmp_path, *cells):
    path = tmp_path / "mine.yaml"
    path.write_text(HEAD + "".join(cells), encoding="utf-8")
    return [str(error).replace(f"{tmp_path}/", "") for error in check_deck(path)]


# Source: Boole's algebra: the NAND of 0 and 1 is 1, their NOR 0.
def test_a_function_that_the_transistors_do_not_have_is_told_at_its_first_row(tmp_path):
    """Only the first of the rows that differ, at the place of the equation."""
    assert told(tmp_path, entry("my gate", TWO, NAND2, "y = !(a + b)")) == [
        "mine.yaml:11:15: y is 1 at a=0 b=1, where “y = !(a + b)” says 0; mend the transistors or the function"
    ]


# Source: Boole's algebra: at a=0 b=1 the NAND is 1 and the NOR 0.
def test_every_output_is_told_once_though_it_differs_in_several_rows(tmp_path):
    """Two outputs built crosswise are two slips."""
    ports = "{a: input, b: input, y: output, z: output}"
    built = "nand2 a=a b=b y=z|nor2 a=a b=b y=y"
    assert told(tmp_path, entry("my gates", ports, built, "y = !(a*b)").replace(
        'function: "y = !(a*b)"', 'function: ["y = !(a*b)", "z = !(a+b)"]'
    )) == [
        "mine.yaml:11:16: y is 0 at a=0 b=1, where “y = !(a*b)” says 1; mend the transistors or the function",
        "mine.yaml:11:30: z is 1 at a=0 b=1, where “z = !(a+b)” says 0; mend the transistors or the function",
    ]  # fmt: skip


# Source: common practice: a CMOS gate without one p transistor leaves its output floating where that one should pull.
def test_an_output_that_some_row_leaves_undriven_is_told(tmp_path):
    """One p transistor of a NAND2 is missing."""
    assert told(tmp_path, entry("my gate", TWO, NAND2.removesuffix("|p b VDD y"), "y = !(a*b)")) == [
        "mine.yaml:11:15: y is not driven at a=1 b=0, where “y = !(a*b)” says 1; mend the transistors or the function"
    ]


def test_complements_of_ports_follow_them(tmp_path):
    """A transmission-gate multiplexer (common practice) is right where s and its complement are opposite."""
    ports = "{a: input, b: input, s: select, sn: complement of s, y: output}"
    built = "n sn a y|p s a y|n s b y|p sn b y"
    right = entry("2:1 multiplexer", ports, built, "y = a*!s + b*s")
    wrong = right.replace("a*!s + b*s", "a*s + b*!s")
    assert told(tmp_path, right) == []
    assert [error.partition(";")[0] for error in told(tmp_path, wrong)] == [
        "mine.yaml:11:15: y is 0 at a=0 b=1 s=0 sn=1, where “y = a*s + b*!s” says 1"
    ]


def test_stages_are_checked_as_well(tmp_path):
    """Two gates in a row give AND (Boole), not NAND."""
    cell = entry("AND2", TWO, "m = !(a*b)|y = !m", "y = !(a*b)", kind="stages")
    assert told(tmp_path, cell) == [
        "mine.yaml:11:15: y is 0 at a=0 b=0, where “y = !(a*b)” says 1; mend the transistors or the function"
    ]


# Source: the names of gates by their groups of inputs: OR of two, AND with one, inverted, is OAI21 (common practice).
def test_a_structure_that_is_another_is_told(tmp_path):
    """The netlist is right for its function, and is called by a wrong name."""
    assert told(tmp_path, entry("NAND3", THREE, OAI21, "y = !((a + b) * on)")) == [
        "mine.yaml:9:16: structure NAND3, but these transistors are an OAI21; mend the transistors or the structure"
    ]


def test_a_structure_is_checked_where_there_is_only_a_function(tmp_path):
    """y = !(a + b) is no NAND2 (Boole)."""
    cell = f'{CELL}    structure: NAND2\n    ports: {TWO}\n    function: "y = !(a + b)"\n'
    assert told(tmp_path, cell) == [
        "mine.yaml:9:16: structure NAND2, but these transistors are a NOR2; mend the transistors or the structure"
    ]


@pytest.mark.parametrize("structure", ["OAI21", "or-and-invert 21", "complex gate", "OAI", "lamp driver", "delay"])
def test_wider_and_other_words_are_no_slips(tmp_path, structure):
    """An alias, a family, a wider true word, a word that is no term, and a word for the use."""
    assert told(tmp_path, entry(structure, THREE, OAI21, "y = !((a + b) * on)")) == []


# Source: common practice: without its feedback a loop of two inverters is a buffer, and stores nothing.
def test_a_store_whose_loop_is_open_is_told(tmp_path):
    """It has no function that could tell, but the transistors are those of a buffer."""
    ports = "{d: data, q: output}"
    assert told(tmp_path, entry("latch", ports, "inverter a=d y=m|inverter a=m y=q")) == [
        "mine.yaml:9:16: structure latch, but these transistors are a buffer; mend the transistors or the structure"
    ]


def test_what_hangs_is_told_at_its_line_and_alone(tmp_path):
    """A misspelt net is driven by nothing, the one it should be ends nowhere; function and structure are left."""
    built = NAND2.replace("n b k y", "n kk b y").replace("p b", "p bb")
    assert told(tmp_path, entry("NOR3", TWO, built, "y = a")) == [
        "mine.yaml:13:7: net k ends nowhere; join it to what it leads to, or mend its name",
        "mine.yaml:14:7: net kk is driven by nothing; join it to what drives it, or mend its name",
        "mine.yaml:16:7: net bb is driven by nothing; join it to what drives it, or mend its name",
    ]


def test_items_of_a_wrong_cell_wait_until_it_is_mended(tmp_path):
    """A gate on a net that nothing drives cannot be proved either: one slip is one error."""
    path = tmp_path / "mine.yaml"
    items = HEAD.replace("cells: [inverter]", "cells: [mine, inverter]").replace("name]", "polarity]")
    path.write_text(items + entry("NAND2", TWO, NAND2.replace("n b", "n bb"), "y = !(a*b)"), encoding="utf-8")
    assert [str(error.where).rpartition("/")[2] for error in check_deck(path)] == ["mine.yaml:14:7"]


def test_a_port_that_no_transistor_touches_is_told(tmp_path):
    """At the port itself."""
    assert told(tmp_path, entry("NAND2", "{a: input, b: input, c: input, y: output}", NAND2, "y = !(a*b)")) == [
        "mine.yaml:10:36: no device touches port c; join it, or take it out of the ports"
    ]


def test_spice_is_checked_at_its_place(tmp_path):
    """A subcircuit's transistor on a net of no other."""
    built = ".subckt mine a y vdd gnd|M1 y a gnd gnd nmos L=1u W=2u|M2 y a vdd vdd pmos L=1u W=2u|M3 y q vdd vdd pmos"
    built += " L=1u W=2u|.ends"
    cell = entry("inverter", "{a: input, y: output}", built, "y = !a", kind="spice")
    assert told(tmp_path, cell) == [
        "mine.yaml:16:7: net q, the gate of M3, is driven by nothing; join it to what drives it, or make it a port"
    ]


# Source: Boole: a parity of ten inputs differs from its complement everywhere.
def test_many_inputs_are_tried_at_some_rows_the_same_each_time(tmp_path):
    """Ten inputs have 1024 rows; a wrong function is found in the few that are tried."""
    names = "abcdefghij"
    ports = "{" + ", ".join(f"{name}: input" for name in names) + ", y: output}"
    built = "|".join(f"m{i} = {'a' if i == 1 else f'm{i - 1}'} ^ {names[i]}" for i in range(1, 9)) + "|y = m8 ^ j"
    parity = " ^ ".join(names)
    assert told(tmp_path, entry("parity", ports, built, f"y = {parity}", kind="stages")) == []
    wrong = told(tmp_path, entry("parity", ports, built, f"y = !({parity})", kind="stages"))
    assert len(wrong) == 1
    assert wrong == told(tmp_path, entry("parity", ports, built, f"y = !({parity})", kind="stages"))


# Source: common practice: a gate takes no current, so that a net on gates alone is an input.
def test_an_output_that_nothing_drives_is_told(tmp_path):
    """Its role is wrong: at the port itself."""
    assert told(tmp_path, entry("NAND2", "{a: input, b: output, y: output}", NAND2)) == [
        "mine.yaml:10:26: nothing drives output b; mend its role, or what leads to it"
    ]


def test_no_cell_of_the_library_and_no_array_is_told_wrong():
    """What ships is right by the same check, in every logic style in which it is given."""
    names = every_name()
    assert len(names) > 100
    names = spread(names, 30)
    slips = {name: list(cell_slips(cell)) for name in names if (cell := find_cell(name)) is not None}
    assert len(slips) == len(names)
    assert {name: found for name, found in slips.items() if found} == {}


def test_a_cell_that_no_process_builds_is_left_to_its_items():
    """Whose netlist uses a cell that does not exist: told where an item asks for it, and not here."""
    text = "name: x\ntitle: t\nstructure: s\nlook for: l\nports: {y: output}\ndoes: d\nnetlist: nosuch a=y\n"
    assert list(cell_slips(read_cell(loads(text, "x.yaml").root, "own"))) == []


def test_what_is_wrong_in_several_processes_alike_is_told_once(tmp_path):
    """With the names of the others; an item of two cells has an error for each."""
    path = tmp_path / "mine.yaml"
    item = (
        "  - {cells: [inverter, nand2], kinds: [address], processes: [silicon-gate-cmos, silicon-gate-nmos], seed: 1}\n"
    )
    path.write_text(f"title: t\nabout: a\nitems:\n{item}", encoding="utf-8")
    assert [error.what for error in check_deck(path)] == [
        f"“address” cannot be asked about {cell} in silicon-gate-cmos (the same in silicon-gate-nmos)"
        for cell in ("inverter", "nand2")
    ]


# Source: common practice: two series n transistors beside one, and the dual above them, are an AOI21.
def test_nothing_is_asked_about_a_cell_that_is_not_what_its_author_says(tmp_path):
    """A deck that nobody checked is refused by all that asks, with the words of the check."""
    path = tmp_path / "mine.yaml"
    built = "n on VSS y|n a VSS k|n b k y|p a VDD m|p b VDD m|p on m y"
    asked = HEAD.replace("inverter", "mine")
    path.write_text(asked + entry("OAI21", THREE, built, "y = !(a*b + on)"), encoding="utf-8")
    (told,) = [str(error) for error in check_deck(path)]
    assert "mine.yaml:9:16: structure OAI21, but these transistors are an AOI21; mend" in told
    maker = SpecimenMaker(load_deck(path))
    for asks in (
        lambda: Sitting.open_deck(path, count=1, seed=1, records=tmp_path / "records.sqlite"),
        lambda: prepare(path, Wanted(count=1, minutes=0, seed=1, feedback=Feedback.NOW)),
        lambda: maker.specimen("mine", "silicon-gate-cmos", 1, 0.2),
    ):
        with pytest.raises(LayoutdrillError) as refused:
            asks()
        assert str(refused.value) == told
        assert refused.value.exit_code == 2


# Source: the trade's names of complex gates: AOI31 is the inverse of a*b*c + d; this is that of d + c*(a + b).
def test_a_complex_gate_is_not_taken_for_another(tmp_path):
    """A gate that recognition calls a complex gate and no more is none of those that it names in full."""
    ports = "{a: input, b: input, c: input, d: input, y: output}"
    built = "n d VSS y|n c VSS k|n a k y|n b k y|p d VDD m|p c m y|p a m l|p b l y"
    assert told(tmp_path, entry("AOI31", ports, built, "y = !(d + c*(a + b))")) == [
        (
            "mine.yaml:9:16: structure AOI31, but these transistors are a complex gate; mend the transistors or the "
            "structure"
        )
    ]
    assert told(tmp_path, entry("my gate", ports, built, "y = !(d + c*(a + b))")) == []


def test_a_misspelt_name_is_told(tmp_path):
    """A word near the name that the transistors have is no name of the author's own."""
    assert told(tmp_path, entry("NANDD2", TWO, NAND2, "y = !(a*b)")) == [
        (
            "mine.yaml:9:16: structure “NANDD2” is no term of the trade; these transistors are a NAND2; mend the "
            "transistors or the structure"
        )
    ]


def test_what_decides_is_said_in_the_author_s_own_words(tmp_path):
    """Not in those of the library's cell of that name, which may be built another way."""
    path = tmp_path / "mine.yaml"
    path.write_text(HEAD + entry("NAND2", TWO, NAND2, "y = !(a*b)").replace("look for: l", "look for: my own words"))
    specimen = SpecimenMaker(load_deck(path)).specimen("mine", "silicon-gate-cmos", 1, 0.3)
    question = kinds()["name"].ask(specimen, Dice(1))
    assert kinds()["name"].judge(question, Answer("NAND2")).decides == "My own words."


def test_the_light_or_the_stage_that_hides_what_a_kind_needs_is_named(tmp_path):
    """Not the kind or the cell alone: transmitted light shows no metal beside other metal, a bare die no gates."""
    path = tmp_path / "mine.yaml"
    item = "  - {{cells: [mux2_tg], processes: [silicon-gate-cmos], kinds: [table], seed: 3, {}}}\n"
    path.write_text(
        "title: t\nabout: a\nitems:\n" + item.format("light: transmitted") + item.format("stage: bare"),
        encoding="utf-8",
    )
    assert [error.what for error in check_deck(path)] == [
        "“table” cannot be asked about mux2_tg in silicon-gate-cmos in the look “transmitted light”",
        "“table” cannot be asked about mux2_tg in silicon-gate-cmos at the stage “bare”",
    ]
