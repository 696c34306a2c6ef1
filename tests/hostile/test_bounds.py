"""Small files that ask for much are refused with what, where and the bound; fuzzers find no traceback."""

import gzip
import sqlite3
import sys

import pytest

from layoutdrill.cells.wheel import DamagedError, open_wheel
from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.gdscells import read_library
from layoutdrill.locations import PACKAGE
from layoutdrill.netlist.spice import read_spice
from layoutdrill.simulate.expression import DEEPEST, parse, text
from layoutdrill.yamldoc import MACHINE_WRITTEN, loads
from tests.hostile.bombs import SQUARE, bombs, gds, inverters, joined, put, series
from tests.hostile.fuzz import failures, said

SLOW = ("gzip", "a pile", "many elements")
"""Tried by hand: python tests/bench/run.py hostile."""


@pytest.mark.parametrize("bomb", [b for b in bombs() if b.name not in SLOW], ids=lambda b: b.name)
def test_a_bomb_is_refused_in_words(bomb, tmp_path, monkeypatch):
    """Exit code 2, and the message says what is too much. Seconds and MB: the bench."""
    put(bomb.files, tmp_path)
    monkeypatch.chdir(tmp_path)
    code, told = said(*bomb.command)
    assert code == 2
    assert bomb.wanted in told
    assert len(told) < 10_000


@pytest.mark.parametrize(("name", "count"), [("decks", 200), ("GDSII", 30), ("SPICE", 30), ("equations", 200)])
def test_fuzzed_input_never_ends_in_a_traceback(name, count, tmp_path):
    """Fixed seeds; thousands by hand."""
    assert failures(name, range(10_000, 10_000 + count), tmp_path) == []


def test_damaged_records_never_end_in_a_traceback(tmp_path, monkeypatch):
    """Values of the wrong kind, JSON that is none, bytes changed anywhere: home opens, damaged sittings are told."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    assert failures("records", range(6), tmp_path) == []


def test_what_machines_write_may_be_larger():
    """Half a million keys and values, where fifty thousand are allowed to a deck."""
    many = "- 1\n" * 60_000
    with pytest.raises(LayoutdrillError, match="more than 50,000 keys and values"):
        loads(many, "d.yaml")
    assert len(loads(many, "d.yaml", bounds=MACHINE_WRITTEN).root.items()) == 60_000


def test_expressions_as_deep_as_allowed_are_read_printed_and_read_again():
    """One level more is refused at its column."""
    deep = "(" * DEEPEST + "a" + ")" * DEEPEST
    assert text(parse(deep)) == "a"
    with pytest.raises(LayoutdrillError, match=f"expression:{DEEPEST + 1}: more than {DEEPEST} parentheses"):
        parse(f"({deep})")
    assert text(parse("!" * DEEPEST + "a")) == "!" * DEEPEST + "a"
    with pytest.raises(LayoutdrillError, match="two undo each other"):
        parse("a" + "'" * (DEEPEST + 1))


def test_a_long_run_of_letters_is_cut_into_known_names_without_search():
    """`aaa…b` splits where it comes out even, and says so where it does not; ten thousand letters are no matter."""
    assert text(parse("abcab", ("ab", "abc", "b", "a", "c"))) == "abc*ab"
    with pytest.raises(LayoutdrillError, match="no signal"):
        parse("a" * 10_000 + "z", ("a", "aa"))


def test_wheels_with_names_that_are_no_text_and_bombs_are_damaged(tmp_path):
    """A name of odd bytes, and a member that unpacks to more than any of the kit."""
    import zipfile

    path = tmp_path / "k.whl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as wheel:
        wheel.writestr("kit/aé.gds", bytes(70_000_000))
    names, read = open_wheel(path, "kit/")
    with pytest.raises(DamagedError, match="when unpacked"):
        read(names[0])
    data = path.read_bytes().replace("é".encode(), b"\xff\xfe")
    path.write_bytes(data)
    with pytest.raises(DamagedError, match="no text"):
        open_wheel(path, "kit/")


def test_joined_nets_are_one_however_many_resistors_join_them():
    """A star and a chain of metal resistors; the order in which they stand does not matter."""
    chain = "\n".join(f"R{n} n{n} n{n + 1} short" for n in range(3000))
    netlist = read_spice(f"* t\n{chain}\nM1 n0 g n3000 nmos\n", "f.sp")
    assert netlist.transistors[0].source == netlist.transistors[0].drain
    star = read_spice("* t\nR1 a b short\nR2 c b short\nM1 a g c nmos\n", "f.sp")
    assert star.transistors[0].source == star.transistors[0].drain


def test_a_width_that_no_terminal_has_is_passed_over(monkeypatch):
    """Help is laid out by COLUMNS."""
    monkeypatch.setenv("COLUMNS", "9" * 12)
    code, told = said("--help")
    assert code == 0
    assert max(map(len, told.splitlines())) < 2000


def test_from_inside_an_archive_it_says_that_it_must_be_installed(monkeypatch, tmp_path):
    """Its data are files; an archive has none."""
    monkeypatch.setattr("layoutdrill.cli.PACKAGE", tmp_path / "x.zip" / "layoutdrill")
    assert PACKAGE.is_dir()
    code, told = said("decks")
    assert code == 2
    assert told == "layoutdrill: layoutdrill cannot run from inside an archive; install it, or unpack it first\n"


def test_records_without_a_version_are_damaged(tmp_path):
    """0 and less are no version."""
    from layoutdrill.drill.records import Records

    path = tmp_path / "r"
    Records(path).close()
    for version in (0, -5):
        with sqlite3.connect(path) as file:
            file.execute(f"PRAGMA user_version = {version}")
        file.close()
        with pytest.raises(LayoutdrillError, match="damaged"):
            Records(path)


def test_the_recursion_limit_is_never_raised():
    """Depth is bounded by what is read, not by asking for more."""
    assert sys.getrecursionlimit() == 1000


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (series(1000), "1001 transistors"),
        (inverters(300), "300 inverters in a row"),
        (joined(2000), "M1 has both ends on n0"),
    ],
    ids=["series", "inverters", "resistors"],
)
def test_long_chains_are_explained(text, wanted, tmp_path):
    """A path of a thousand, inverters in a row, a net of many joined pieces. Seconds, and longer ones: the bench."""
    path = tmp_path / "chain.sp"
    path.write_bytes(text)
    code, told = said("explain", path)
    assert code in (0, 1)
    assert wanted in told


# Source: RFC 1952, 2.2: a gzip file is a series of members, one after the other.
def test_a_gzip_file_is_read_to_its_last_member_and_a_cut_one_is_told(tmp_path):
    """Two members are one stream; an unpacked whole over the bound, or one cut off, is refused."""
    whole = gds((b"c", [SQUARE]))
    path = tmp_path / "x.gds"
    path.write_bytes(gzip.compress(whole[:40]) + gzip.compress(whole[40:]) + bytes(512))
    assert list(read_library(path).cells) == ["c"]
    path.write_bytes(gzip.compress(whole)[:-12])
    with pytest.raises(LayoutdrillError, match="breaks off"):
        read_library(path)
