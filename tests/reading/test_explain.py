"""A file is explained: what it is, what it does, and its slips, as text and as data."""

import json
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "simulate"))

from circuits import circuit, gate, inverter

from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.spice import write_spice
from layoutdrill.reading.explain import explain_file, explain_netlist

NAND = circuit("a b y VDD VSS", "p a VDD y", "p b VDD y", "n a y k", "n b k VSS", name="nand")
LATCH = circuit("d e q VDD VSS", *inverter("e", "en"), *gate("d", "m", "e", "en"), *inverter("m", "k"),
                *inverter("k", "q"), *gate("q", "m", "en", "e"))  # fmt: skip
FLOP = circuit(
    "d c q VDD VSS", *inverter("c", "cn"), *gate("d", "m", "cn", "c"), *inverter("m", "n"), *inverter("n", "s"),
    *gate("s", "m", "c", "cn"), *gate("s", "u", "c", "cn"), *inverter("u", "v"), *inverter("v", "q"),
    *gate("q", "u", "cn", "c"),
)  # fmt: skip


def test_a_gate(tmp_path):
    """A NAND2 from a SPICE file: name, counts, equation, table (function table of a standard part)."""
    path = tmp_path / "nand.sp"
    path.write_text(write_spice(NAND))
    e = explain_file(path)
    assert e.name == "NAND2"
    assert (e.counts.n, e.counts.p, e.counts.nets) == (2, 2, 6)
    assert e.functions == ("y = !(a*b)",)
    assert "".join(e.table.column("y")) == "1110"
    assert e.slips == ()
    text = e.text()
    for words in ("nand: NAND2", "4 transistors (2 n, 2 p), 6 nets", "y = !(a*b)", "stateless", "none found"):
        assert words in text
    data = json.loads(e.json())
    assert data["name"] == "NAND2"
    assert data["table"]["rows"][3] == ["11", "0"]
    assert data["counts"]["transistors"] == 4


def test_a_latch_and_a_flip_flop():
    """The store's behaviour is told in words (LS75: enable high, q = d; an edge for the flip-flop)."""
    latch = explain_netlist(LATCH)
    assert latch.name == "latch"
    assert "q is d while e is 1, else stays" in latch.text()
    flop = explain_netlist(FLOP)
    assert flop.name == "register bit"
    assert "q becomes d at the rise of c, else stays" in flop.text()
    assert json.loads(flop.json())["stores"] == [
        {"output": "q", "kind": "flip-flop", "control": "c", "when": "rise", "next": "d", "else": "q"}
    ]


def test_what_holds_is_told_only_where_it_does():
    """A reset shows in what a flip-flop is else; a bit on two clocks is left to its structure (common practice)."""
    reset = circuit(
        "d c r q VDD VSS", *inverter("c", "cn"), *gate("d", "m", "cn", "c"), "p m VDD n", "p r VDD n", "n m n k",
        "n r k VSS", *inverter("n", "s"), *gate("s", "m", "c", "cn"), *gate("n", "u", "c", "cn"), *inverter("u", "q"),
        "p q VDD v", "p r VDD v", "n q v l", "n r l VSS", *gate("v", "u", "cn", "c"),
    )  # fmt: skip
    text = explain_netlist(reset).text()
    assert "at the rise of c, else r*q, where q is its value before" in text
    phases = circuit("d c1 c2 q VDD VSS", "n c1 d a", *inverter("a", "b"), "n c2 b e", *inverter("e", "q"))
    text = explain_netlist(phases).text()
    assert "q changes with c1, and not with it alone" in text
    assert "stays" not in text


def test_poor_levels_and_floating_outputs_are_told():
    """An output that stops a threshold short, or floats, is said to."""
    e = explain_netlist(circuit("d0 d1 s sn y VDD VSS", "n sn d0 y", "n s d1 y"))
    assert e.name == "2:1 multiplexer"
    assert "y stays 1 threshold short of a full 1" in e.text()
    assert len(e.table.rows) == 8  # sn goes against s
    tri = explain_netlist(circuit("a e en y VDD VSS", "p a VDD m", "p en m y", "n e y k", "n a k VSS"))
    assert tri.functions == ("y = !a while e, else floating",)


def test_a_slip_is_told_with_its_remedy():
    """What is wrong and what would mend it stand in one line."""
    e = explain_netlist(circuit("a b y VDD VSS", "p a VDD y", "p a VDD y", "n a y k", "n b k VSS"))
    assert "M2 with its gate on b instead of a (then y is NAND2)" in e.text()


def test_bad_files_are_refused(tmp_path):
    """Each error says what, where, and what to do."""
    with pytest.raises(LayoutdrillError, match="no such file"):
        explain_file(tmp_path / "none.sp")
    with pytest.raises(LayoutdrillError, match=r'"\.txt" is no known kind of file; give a netlist'):
        explain_file(tmp_path / "notes.txt")
    (tmp_path / "x.gds").write_bytes(b"")
    with pytest.raises(LayoutdrillError, match="needs its process; add --process"):
        explain_file(tmp_path / "x.gds")
    (tmp_path / "bad.sp").write_text(".subckt t a\nM1 a\n.ends\n")
    with pytest.raises(LayoutdrillError, match=r"bad\.sp:2"):
        explain_file(tmp_path / "bad.sp")


def test_empty_netlist():
    """A netlist without transistors is explained as just that."""
    e = explain_netlist(circuit("a VDD VSS"))
    assert "there are no transistors" in e.text()
    assert e.table is None


def test_what_takes_too_long_is_told_and_worked_out_when_asked():
    """Twelve lines that four drivers share take a table of 256 rows: said with its part, and there with `thorough`."""
    lines = []
    for y in range(12):
        for at in range(4):
            lines += [
                f"p d{at} VDD p{y}_{at}",
                f"p b{at} p{y}_{at} y{y}",
                f"n e{at} y{y} n{y}_{at}",
                f"n d{at} n{y}_{at} VSS",
            ]
    lines += [line for at in range(4) for line in inverter(f"e{at}", f"b{at}")]
    ports = " ".join([*(f"{n}{at}" for n in "de" for at in range(4)), *(f"y{y}" for y in range(12))])
    shared = circuit(f"{ports} VDD VSS", *lines)
    e = explain_netlist(shared)
    assert e.table is None
    assert "what y0, y1, y2, y3, y4, y5 and 6 more do as a whole (a table would take too long)" in e.undone
    assert "(--thorough goes on)" in e.text()
    whole = explain_netlist(shared, thorough=True)
    assert whole.undone == ()
    assert len(whole.table.rows) == 256
    assert whole.table.column("y7")[0b1010_1000] == "0"  # d0 at 1 through an inverting driver that e0 lets in
    assert whole.table.column("y7")[0b1010_0000] == "Z"


@pytest.mark.kit
def test_a_layout_of_the_open_kit(tmp_path):
    """The extracted ebufn_1 is a tri-state buffer, off while TE_B is 1 (the kit's functional Verilog: bufif0)."""
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        pytest.skip(f"not run: {error}")
    path = tmp_path / "cell.gds"
    path.write_bytes(kit.gdsii("ebufn_1"))
    e = explain_file(path, "open-130nm")
    assert e.name == "tri-state buffer"
    assert e.functions == ("Z = A while !TE_B, else floating",)
    assert e.layout is not None
    assert e.extraction is not None


@pytest.mark.parametrize("lines", [
    ("p a VDD y", "p a VDD y", "n a y k", "n b k VSS"),  # one p gate misread
    ("p a VDD y", "p b VDD y", "n a y k", "n a k VSS"),  # one n gate misread
    ("p a VDD y", "n a y k", "n b k VSS"),  # one p transistor overlooked
    ("p a VDD y", "p b VDD y", "n a y k"),  # one n transistor overlooked
])  # fmt: skip
def test_a_slip_earns_no_gate_the_name_tri_state(lines):
    """A NAND2 that floats by a slip is no tri-state gate: that has an enable towards both rails (Weste & Harris)."""
    e = explain_netlist(circuit("a b y VDD VSS", *lines))
    assert "tri-state" not in e.text()
    assert "tri-state" not in (json.loads(e.json())["memory"] or "")


def test_a_tri_state_stage_keeps_its_name():
    """An inverter with an enable towards both rails lets its output go (Weste & Harris)."""
    enabled = circuit("a e en y VDD VSS", "p a VDD m", "p en m y", "n e y k", "n a k VSS")
    assert "\n  tri-state\n" in explain_netlist(enabled).text()
