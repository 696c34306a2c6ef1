"""Nothing raw reaches a terminal, whoever wrote it; and what is no text, or no stream, ends in one line."""

import io
import json
import subprocess
import sys

import pytest
from rich.segment import Segment
from textual.color import Color

from layoutdrill.deck.read import read_deck
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.layout.gdsii import gdsii_cells
from layoutdrill.netlist.spice import read_spice
from layoutdrill.outlet import Outlet
from layoutdrill.printable import in_encoding, in_one_line, printable
from layoutdrill.screens.steady import TextGate
from layoutdrill.yamldoc import loads
from tests.hostile.bombs import SQUARE, gds
from tests.hostile.fuzz import DECK, no_leak, said

RAW = ("\x1b]0;x\x07", "\x1b]52;c;eA==\x07", "\u202egnp.", "\x9b2J", "\u2066x", "\x00", "\x7f", "\u2028", "\ud83d")
# General categories Cc, Cf, Cs, Zl: the Unicode standard, chapter 4.


@pytest.mark.parametrize("raw", RAW, ids=ascii)
def test_what_cannot_be_printed_is_escaped(raw):
    """The escape is that of JSON, so that JSON stays JSON."""
    shown = printable(f"a{raw}b\n")
    assert shown.endswith("b\n")
    assert shown[:-1].isprintable()
    assert json.loads(f'"{shown[:-1]}"') == f"a{raw}b"


def test_letters_spaces_and_joiners_of_any_script_stay():
    """λ, ×, a no-break space, an emoji, the joiners of Persian."""
    text = "λ × 2\u00a0µm \U0001f600 می\u200cخواهم"
    assert printable(text) == text
    assert in_one_line("a\nb") == "a\\u000ab"


@pytest.mark.parametrize("raw", RAW, ids=ascii)
@pytest.mark.parametrize("place", ["title", "name: lamp", "Words", "Look at"])
def test_a_deck_with_a_raw_character_is_refused_with_its_place(raw, place):
    """In a title, a cell's name, a page's block, a hint; also when it is written as an escape."""
    line = DECK[: DECK.index(place)].count("\n") + 1
    for text in (DECK.replace(place, raw + place, 1), DECK.replace(place, f"{place} {raw}", 1)):
        with pytest.raises(LayoutdrillError) as caught:
            loads(text, "d.yaml")
        assert caught.value.where.line in (line, line + raw.count("\u2028"))
        assert caught.value.where.column
        no_leak(str(caught.value))


@pytest.mark.parametrize("escape", ["\\e]0;x\\a", "\\u202e", "\\x9b", "\\0", "\\r", "\\L"])
def test_an_escape_in_quoted_text_is_refused(escape):
    """YAML's own escapes (YAML 1.2, chapter 5.7)."""
    with pytest.raises(LayoutdrillError, match=r"d.yaml:1:8: this text holds a character that cannot be printed"):
        loads(f'title: "{escape}"\n', "d.yaml")
    with pytest.raises(LayoutdrillError, match=r"cannot be printed"):
        loads(f'"k{escape}": 1\n', "d.yaml")


def test_spice_with_a_raw_character_is_refused_and_old_marks_are_not():
    """A control character has its line and column; a form feed and the end mark of old systems are nothing."""
    with pytest.raises(LayoutdrillError, match=r"f.sp:2:4: a character that cannot be printed \(\\u001b\)"):
        read_spice("* t\nM1 \x1b[2J a b c nmos\n", "f.sp")
    assert read_spice("* t\n\fM1 d g s nmos\n\x1a", "f.sp").count() == 1


def test_names_of_a_layout_are_escaped_where_they_are_read(tmp_path):
    """A cell's name with an escape sequence is listed, and asked for, as it is shown."""
    path = tmp_path / "x.gds"
    path.write_bytes(gds((b"c\x1b[2J", [SQUARE]), (b"d", [SQUARE])))
    assert gdsii_cells(path) == ("c\\u001b[2J", "d")
    code, told = said("extract", path)
    assert code == 2
    assert "c\\u001b[2J" in told
    assert said("extract", path, "--cell", "c\\u001b[2J")[0] == 0


def test_names_given_on_the_command_line_are_escaped(tmp_path):
    """File, deck, process and cell names come back in messages."""
    raw = "x\x1b]0;y\x07\u202e"
    for words in (("check", f"{raw}.yaml"), ("extract", f"{raw}.gds"), ("extract", "a.gds", "--process", raw),
                  ("cells", raw), ("draw", raw, "-o", tmp_path / "o.png"), ("drill", raw), (raw,)):  # fmt: skip
        code, told = said(*words)
        assert code == 2
        assert "\\u001b" in told or "\\x1b" in told


def test_an_error_is_printable_whatever_it_quotes_and_never_endless():
    """The place stays in one line, and no part of a message is longer than a page."""
    told = str(LayoutdrillError("x\x1b" * 9999, where=Where("a\nb"), todo="y" * 99_999))
    assert told.startswith("a\\u000ab: ")
    assert "\x1b" not in told
    assert len(told) < 20_000


def test_only_the_first_hundred_errors_are_told(tmp_path):
    """And how many more there are."""
    path = tmp_path / "d.yaml"
    path.write_text("title: t\nabout: a\nitems:\n" + "- [x]\n" * 150)
    code, told = said("check", path)
    assert code == 2
    assert told.count("a mapping expected") == 100
    assert "50 more" in told
    assert "150 to mend" in told


def test_a_line_of_the_app_loses_what_cannot_be_printed():
    """The last resort: whatever text a screen was given."""
    (segment,) = TextGate().apply([Segment("a\x1b[2J\u202eb")], Color(0, 0, 0))
    assert segment.text == "a[2Jb"


def test_letters_that_an_encoding_lacks_have_a_stand_in():
    """Latin-1 has no λ; ASCII no ×."""
    assert in_encoding("2 λ “×” é 漢", "latin-1") == '2 lambda "×" é ?'
    assert in_encoding("λ × …", "ascii") == "lambda x ..."
    stream = io.TextIOWrapper(io.BytesIO(), encoding="latin-1")
    Outlet(stream).write("3 λ → \x1b\n")
    stream.flush()
    assert stream.buffer.getvalue() == b"3 lambda -> \\u001b\n"


# What a shell can do to the streams of a program: Python 3.11, as observed.
STREAMS = {
    "no standard output": ("decks >&-", 2, "standard output cannot be written (it is closed)"),
    "no standard error": ("decks 2>&-", 0, ""),
    "a full standard output": ("decks >/dev/full", 2, "standard output cannot be written (No space left on device)"),
    "an encoding without λ": ("processes silicon-gate-cmos", 0, ""),
    "no standard input": ("drill first-gates --plain --seed 1 --count 1 <&-", 0, "0 of 1 answered"),
    "bytes that are no text": (
        "drill first-gates --plain --seed 1 --count 1 < bytes", 0, "of 1 answered",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", STREAMS)
def test_missing_full_and_odd_streams_end_in_one_line(case, tmp_path, homes):
    """No traceback, and an exit code that says how it went."""
    command, code, words = STREAMS[case]
    (tmp_path / "bytes").write_bytes(b"\xff\xfe\xed\xa0\x80\nskip\n")
    env = {"PATH": "/usr/bin:/bin", "LAYOUTDRILL_HOME": str(tmp_path), "LAYOUTDRILL_CACHE": str(homes / "cache")}
    env |= {"PYTHONIOENCODING": "latin-1"} if "encoding" in case else {"LC_ALL": "C", "PYTHONUTF8": "0"}
    run = f"{sys.executable} -m layoutdrill {command}"
    done = subprocess.run(["bash", "-c", run], capture_output=True, env=env, cwd=tmp_path, check=False)
    told = (done.stdout + done.stderr).decode("latin-1")
    assert "Traceback" not in told
    assert "Exception ignored" not in told
    assert (done.returncode, words in told) == (code, True)


def test_a_deck_read_whole_is_free_of_raw_text():
    """What the deck of the fuzzers says is read as it stands."""
    deck, errors = read_deck(loads(DECK, "d.yaml"), "d")
    assert errors == []
    assert deck.title == "Gates"
