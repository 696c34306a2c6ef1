"""The command line: bad input gets one clear line and exit code 2; every command does what the README says."""

import io
import sys
from pathlib import Path

import pytest

from layoutdrill.cli import main

INVERTER = """\
.subckt inverter VSS VDD a y
M1 y a VSS VSS nmos
M2 y a VDD VDD pmos
.ends
"""
BUFFER = """\
.subckt buffer VSS VDD a y
M1 b a VSS VSS nmos
M2 b a VDD VDD pmos
M3 y b VSS VSS nmos
M4 y b VDD VDD pmos
.ends
"""


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path / "cache"))
    monkeypatch.delenv("LAYOUTDRILL_KIT", raising=False)
    monkeypatch.chdir(tmp_path)


def run(*arguments: str) -> int:
    """Run a command in this process and return its exit code, also where argparse leaves by itself."""
    try:
        return main(list(arguments))
    except SystemExit as leave:
        return leave.code if isinstance(leave.code, int) else 1


BAD = {
    "a missing layout": (("extract", "none.gds"), "none.gds: no such file"),
    "a folder for a layout": (("extract", "folder"), "folder: "),
    "a broken layout": (("extract", "broken.gds"), "broken.gds: "),
    "an empty file for a layout": (("extract", "empty.gds"), "empty.gds: "),
    "an unknown process": (("extract", "broken.gds", "--process", "silicon-gate-cmso"), "did you mean"),
    "a missing netlist": (("compare", "none.sp", "inverter.sp"), "none.sp: no such file; check the path"),
    "a malformed netlist": (("compare", "bad.sp", "inverter.sp"), "bad.sp:2:"),
    "a malformed netlist to explain": (("explain", "bad.sp"), "bad.sp:2:"),
    "an unknown cell": (("draw", "nadn2", "-o", "x.png"), 'no cell "nadn2"; did you mean "nand2"?'),
    "an unknown look": (("draw", "nand2", "--look", "inq", "-o", "x.png"), 'did you mean "ink"?'),
    "an unknown ending": (("draw", "nand2", "-o", "x.bmp"), "x.bmp: cannot write"),
    "a wear out of range": (("draw", "nand2", "--wear", "2", "-o", "x.png"), "out of range"),
    "a file that cannot be written": (("draw", "nand2", "-o", "none/x.png"), "none/x.png: cannot be written"),
    "a scale out of range": (("draw", "nand2", "--scale", "100000", "-o", "x.png"), "too large"),
    "an unknown deck, also without a terminal": (("drill", "frist-gates"), 'no deck "frist-gates"'),
    "an unknown deck": (("drill", "frist-gates", "--plain"), 'no deck "frist-gates"'),
    "a deck that is not YAML": (("check", "bad.yaml"), "bad.yaml:2:"),
    "an empty deck": (("check", "empty.yaml"), "empty.yaml"),
    "a negative count": (("drill", "first-gates", "--count", "-1", "--plain"), "-1 is too small"),
    "a count that is no number": (("drill", "first-gates", "--count", "few", "--plain"), "not a whole number"),
    "a kit that is not there": (("drill", "open-cells", "--plain", "--kit", "none.whl"), "pip download"),
    "an unknown command": (("dril",), "dril"),
}


@pytest.mark.parametrize(("arguments", "told"), BAD.values(), ids=BAD)
def test_bad_input_gets_one_clear_message(
    arguments: tuple[str, ...], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bad input leaves with exit code 2 and one line that says what and where."""
    (tmp_path / "folder").mkdir()
    (tmp_path / "broken.gds").write_bytes(b"\x00\x06\x00\x02\x02\x58\x00\x1c")
    (tmp_path / "empty.gds").write_bytes(b"")
    (tmp_path / "inverter.sp").write_text(INVERTER)
    (tmp_path / "bad.sp").write_text(".subckt one a b\nM1 a b\n.ends\n")
    (tmp_path / "bad.yaml").write_text("title: x\n  about: [\n")
    (tmp_path / "empty.yaml").write_text("")
    assert run(*arguments) == 2
    out, err = capsys.readouterr()
    lines = [line for line in (out + err).splitlines() if "to mend" not in line]
    assert len(lines) == 1, lines
    assert told in lines[0]


def test_compare_says_equal_and_counts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A netlist equals itself with its lines in another order: exit code 0, and the counts are told."""
    (tmp_path / "a.sp").write_text(INVERTER)
    lines = INVERTER.splitlines()
    (tmp_path / "b.sp").write_text("\n".join([lines[0], lines[2], lines[1], lines[3]]) + "\n")
    assert run("compare", "a.sp", "b.sp") == 0
    assert "equal: 2 transistors, 4 nets" in capsys.readouterr().out


def test_compare_says_how_two_netlists_differ(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Different netlists leave with exit code 1, and the difference is told."""
    (tmp_path / "a.sp").write_text(INVERTER)
    (tmp_path / "b.sp").write_text(BUFFER)
    assert run("compare", "a.sp", "b.sp") == 1
    assert "2 transistors" in capsys.readouterr().out


def test_a_drawing_written_as_gdsii_extracts_to_its_cell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What `draw` writes, `extract` reads, and `compare` finds equal to the textbook inverter."""
    (tmp_path / "inverter.sp").write_text(INVERTER)
    assert run("draw", "inverter", "--process", "silicon-gate-cmos", "--seed", "5", "-o", "x.gds") == 0
    assert run("extract", "x.gds", "--process", "silicon-gate-cmos", "-o", "x.sp") == 0
    assert run("compare", "x.sp", "inverter.sp", "--bodies") == 0
    assert "equal: 2 transistors" in capsys.readouterr().out


@pytest.mark.usefixtures("drawn_anew")
def test_the_same_seed_writes_the_same_bytes(tmp_path: Path) -> None:
    """A seed says all: layout files of one cell, process and seed are the same byte for byte."""
    for name in ("one.gds", "two.gds"):
        assert run("draw", "nand3", "--process", "metal-gate-sapphire", "--seed", "9", "-o", name) == 0
    assert (tmp_path / "one.gds").read_bytes() == (tmp_path / "two.gds").read_bytes()


@pytest.mark.parametrize("command", ["decks", "cells", "processes"])
def test_lists_are_not_empty(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each list has rows of a name and a title."""
    assert run(command) == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows
    assert all(len(row.split(maxsplit=1)) == 2 for row in rows)


def test_plain_drill_ends_cleanly_at_end_of_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A plain drill whose input ends after one answer gives a summary and exit code 0."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("a\n"))
    assert run("drill", "first-gates", "--plain", "--count", "2", "--seed", "1") == 0
    assert "of 2 answered" in capsys.readouterr().out


def test_what_was_left_in_plain_text_goes_on_in_plain_text(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The summary names a command, and that command asks the second question of the same sitting, not a new one."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("skip\n"))
    assert run("drill", "first-gates", "--plain", "--count", "2", "--seed", "1") == 0
    assert "layoutdrill drill --go-on --plain" in capsys.readouterr().out
    for named in (["first-gates"], []):
        monkeypatch.setattr(sys, "stdin", io.StringIO(""))
        assert run("drill", *named, "--go-on", "--plain") == 0
        said = capsys.readouterr().out
        assert "Question 2 of 2" in said
        assert "Question 1 of 2" not in said
    assert run("drill", "inverter", "--go-on", "--plain") == 2
    assert "nothing of inverter was left unfinished" in capsys.readouterr().err
    assert run("drill", "--plain") == 2
    assert "no deck or lesson is named" in capsys.readouterr().err
