"""
Fuzzers with fixed seeds: decks, GDSII, SPICE, equations, records. Each makes one input from a seed and tries it.

What is wanted: no exception but those that users are told, and no byte on the way out that a terminal must not be sent.
"""

import asyncio
import io
import json
import os
import sqlite3
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from random import Random

from layoutdrill.cells.author import cell_of_equations
from layoutdrill.cli import main
from layoutdrill.deck.read import read_deck
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.unfinished import unfinished
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.layout.model import Label, Layout
from layoutdrill.printable import unprintable_at
from layoutdrill.process import load_process
from layoutdrill.screens.shelf import home_rows
from layoutdrill.simulate.expression import parse
from layoutdrill.yamldoc import loads

NASTY = (
    "\x1b]0;x\x07", "\x1b[2J", "\u202eabc", "\x00", "\x9b31m", "\ud800", "\u2028", "\x7f", "\r", "&a", "*a", "!t",
    "<<: x", "{", "[", "]", "}", ":", "- ", "? ", "|", ">", '"', "'", "\t", "%", "@", "`", "9" * 400, "-1", "1e999",
    "~", "null", "λ", "é", "\U0001f600", "A" * 3000, "\n", "  ",
)  # fmt: skip

DECK = """title: Gates
about: Some gates.
objective: Tell gates.
lesson: 3
count: 4
processes: [silicon-gate-cmos]
kinds: [name, count]
difficulty: 0.3
cells:
  - name: lamp
    title: Lamp driver
    ports: {a: input, b: input, y: output}
    function: y = !(a*b)
    structure: NAND2
    look for: Two in series.
pages:
  - title: A page
    text: |
      Words of it.
    picture: {cell: nand2, process: silicon-gate-cmos, seed: 3, outline: rails}
items:
  - cells: [nand2, lamp]
    hints: ["Look at the rails."]
    help: [rails]
  - {cells: [nor2], seed: fresh, count: 2}
"""

SPICE = """* a latch
.global vdd vss
.model nm nmos
.subckt inv a y
M1 y a vss vss nm L=0.6u W=1.2u
M2 y a vdd vdd pmos L=0.6u W=2.4u
.ends inv
.subckt latch d q
X1 d n1 inv
X2 n1 q inv m=2
R1 q d 4.7k
C1 q vss 1p
M3 q d n1 vss nmos
+ L=1u W=2u
.ends latch
"""


class LeakError(AssertionError):
    """Something left that a terminal must not be sent."""


def no_leak(text):
    at = unprintable_at(text.replace("\r\n", "\n"))
    if at is not None or "\r" in text.replace("\r\n", "\n"):
        raise LeakError(f"{text[max(0, (at or 0) - 40) : (at or 0) + 20]!r}")


def said(*arguments):
    """Run a command; return (exit code, what it wrote). Raises LeakError for what must not be written."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        try:
            code = main([str(argument) for argument in arguments])
        except SystemExit as left:
            code = left.code
    no_leak(out.getvalue() + err.getvalue())
    return code, out.getvalue() + err.getvalue()


def mutated_text(text, rng):
    """Change a text in one to six places: cut, repeat, swap lines, put nasty things in."""
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(text) + 1)
        to = min(len(text), at + rng.choice((1, 1, 2, 5, 20, 100)))
        match rng.randrange(6):
            case 0:
                text = text[:at] + text[to:]
            case 1:
                text = text[:to] + text[at:to] * rng.choice((1, 2, 20)) + text[to:]
            case 2:
                lines = text.split("\n")
                rng.shuffle(lines)
                text = "\n".join(lines) if rng.random() < 0.2 else text
            case _:
                text = text[:at] + rng.choice(NASTY) + text[to if rng.random() < 0.5 else at :]
    return text


EXTREMES = (b"\x7f\xff\xff\xff", b"\x80\0\0\0", b"\0\0\0\0", b"\xff\xff\xff\xff")


def mutated_bytes(data, rng):
    """Change some bytes: flip, cut, repeat, put in extreme numbers."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        at = rng.randrange(len(changed) or 1)
        match rng.randrange(5):
            case 0:
                changed[at : at + 1] = bytes([rng.randrange(256)])
            case 1:
                del changed[at : at + rng.choice((1, 2, 8, 64))]
            case 2:
                changed[at:at] = changed[at : at + rng.choice((4, 16, 64))] * rng.choice((1, 3, 50))
            case 3:
                changed[at : at + 4] = rng.choice(
                    (b"\x7f\xff\xff\xff", b"\x80\0\0\0", b"\0\0\0\0", b"\xff\xff\xff\xff")
                )
            case 4:
                changed[at : at + 2] = rng.choice((b"\0\0", b"\x7f\xff", b"\xff\xff", b"\x1b]"))
    return bytes(changed)


def gdsii():
    """A small layout in GDSII, with a placed cell, an array and labels."""
    process = load_process("open-130nm")
    inner = Layout("inner", {"metal1": (Rect(0, 0, 100, 100),), "poly": (Rect(0, 0, 50, 900),)})
    shapes = {
        "diffusion": (Rect(0, 0, 1000, 400),), "nplus": (Rect(-100, -100, 1100, 500),),
        "poly": (Rect(400, -200, 550, 600),), "metal1": (Rect(0, 0, 2000, 300), Rect(0, 600, 300, 900)),
    }  # fmt: skip
    layout = Layout("cell", shapes, (Label("VGND", "metal1", 10, 10), Label("A", "li1", 410, 0)))
    return write_gdsii(layout, process) if inner else b""


def fuzz_decks(seed, folder):
    rng = Random(seed)
    text = mutated_text(DECK, rng)
    try:
        deck, errors = read_deck(loads(text.encode("utf-8", "surrogatepass"), "deck.yaml"), "deck")
    except LayoutdrillError as error:
        errors = [error]
    else:
        no_leak(deck.title + deck.about + deck.objective + "".join(deck.cells))
    for error in errors:
        no_leak(str(error))


def fuzz_gdsii(seed, folder):
    rng = Random(seed)
    path = folder / "x.gds"
    path.write_bytes(mutated_bytes(gdsii(), rng))
    code, _ = said("extract", path)
    assert code in (0, 1, 2)


def fuzz_spice(seed, folder):
    rng = Random(seed)
    path, other = folder / "x.sp", folder / "y.sp"
    path.write_text(mutated_text(SPICE, rng), encoding="utf-8", errors="replace", newline="")
    other.write_text(SPICE, encoding="utf-8")
    code, _ = said("explain", path)
    assert code in (0, 1, 2)
    code, _ = said("compare", path, other)
    assert code in (0, 1, 2)


TOKENS = ("a", "b", "c", "y", "VDD", "m1", "!", "!!", "~", "'", "*", "&", "+", "|", "^", "(", ")", "((", "0", "1", " ",
          "=",           ";", "NOT", "xor", "[3]", "é", "\x1b", "\u202e", "a" * 500, "=y", ".", "\n")  # fmt: skip


def fuzz_equations(seed, folder):
    rng = Random(seed)
    text = "".join(rng.choice(TOKENS) for _ in range(rng.choice((3, 8, 20, 60, 400))))
    if rng.random() < 0.5:
        text = f"y = {text}"
    processes = [load_process(name) for name in ("silicon-gate-cmos", "silicon-gate-nmos", "metal-gate-pmos")]
    try:
        parse(text, ("a", "b", "ab", "aab") if rng.random() < 0.5 else ())
    except LayoutdrillError as error:
        no_leak(str(error))
    try:
        cell = cell_of_equations(text)
        cell.netlist(rng.choice(processes))
    except LayoutdrillError as error:
        no_leak(str(error))


ROWS = ("'x'", "NULL", "-1", "99999999999", "x'80ff'", "'{'", "'[]'", "'{}'", "'null'", "'" + "[" * 3000 + "'",
        "'\x1b]0;x\x07'", "1.5", "''", "'../x.yaml'")  # fmt: skip


def fuzz_records(seed, folder):
    """Damage values, or bytes, of a file of records; then do what home does, go on with each sitting, and add one."""
    rng = Random(seed)
    path = folder / "records.sqlite"
    source = folder / "whole.sqlite"
    if not source.exists():
        whole_records(source)
    path.write_bytes(source.read_bytes())
    if rng.random() < 0.7:
        with sqlite3.connect(path) as file:
            for _ in range(rng.randint(1, 3)):
                table = rng.choice(("sitting", "answer", "layout"))
                columns = [row[1] for row in file.execute(f"PRAGMA table_info({table})")]
                column, value = rng.choice(columns), rng.choice(ROWS)
                try:
                    file.execute(f"UPDATE {table} SET {column} = {value} WHERE rowid = {rng.randint(1, 3)}")
                except sqlite3.Error:
                    continue
        file.close()
    else:
        path.write_bytes(mutated_bytes(path.read_bytes(), rng))
    try:
        for sitting in unfinished(path):
            no_leak(sitting.title)
            try:
                Sitting.resume(sitting.id, records=path).close()
            except LayoutdrillError as error:
                no_leak(str(error))
        os.environ["LAYOUTDRILL_HOME"] = str(path.parent)
        rows, trouble = home_rows()
        no_leak("".join(row.name + row.text + row.state for row in rows) + str(trouble or ""))
        records = Records(path)
        try:
            for answer in records.answers():
                no_leak(answer.given)
        finally:
            records.close()
    except LayoutdrillError as error:
        no_leak(str(error))
    path.unlink()


def whole_records(path):
    """Write records as a learner leaves them: three sittings of a deck, with some answers."""
    deck = read_deck(loads(DECK, "deck.yaml"), "deck")[0]
    for seed in (1, 2, 3):
        with Sitting.open_deck(deck, count=3, seed=seed, records=path) as sitting:
            for number in range(seed - 1):
                question = sitting.prepare(number)
                sitting.submit(question, sitting.accept(question, "1" if question.kind == "count" else "a"), 1.0)


KEYS = (
    "enter", "escape", "up", "down", "left", "right", "pageup", "pagedown", "home", "end", "tab", "space", "backspace",
    "ctrl+p", "ctrl+c", "ctrl+z", "f1", "f2", "f3", "question_mark", "a", "b", "c", "h", "g", "v", "s", "x", "l", "k",
    "o", "i", "y", "0", "1", "2", "plus", "minus", "t", "n", "q", "exclamation_mark",
)  # fmt: skip


async def pressed(seed, bursts=40):
    """Press keys at random in bursts faster than screens open and close; ^Q alone may end the app."""
    from textual.events import Key

    from layoutdrill.screens.app import BenchApp, StartRequest
    from tests.screens.fakes import FakeSitting

    rng = Random(seed)
    app = BenchApp(StartRequest(sitting=FakeSitting(asks=(0, 1))))
    app.action_suspend_process = lambda: None
    async with app.run_test(size=(100, 30)) as pilot:
        for _ in range(bursts):
            for _ in range(rng.randint(1, 4)):
                name = rng.choice(KEYS)
                app.post_message(Key(name, name if len(name) == 1 else None))
            await pilot.pause(0.01)
            if app.return_code is not None or not app.is_running:
                break
        assert app._exception is None, repr(app._exception)
        assert app.return_code in (None, 0), app.return_code


def fuzz_keys(seed, folder):
    os.environ["LAYOUTDRILL_HOME"] = str(folder / "keys")
    asyncio.run(pressed(seed))


FUZZERS = {
    "decks": fuzz_decks,
    "GDSII": fuzz_gdsii,
    "SPICE": fuzz_spice,
    "equations": fuzz_equations,
    "records": fuzz_records,
    "keys": fuzz_keys,
}


def failures(name, seeds, folder: Path):
    """Try a fuzzer with each seed; return what went wrong, as (seed, words)."""
    found = []
    for seed in seeds:
        try:
            FUZZERS[name](seed, folder)
        except Exception as error:  # noqa: BLE001 - counted and told
            found.append((seed, f"{type(error).__name__}: {str(error)[:200]}"))
    return found


if __name__ == "__main__":  # one seed again, with its traceback: python -m tests.hostile.fuzz decks 17
    import tempfile

    with tempfile.TemporaryDirectory() as place:
        FUZZERS[sys.argv[1]](int(sys.argv[2]), Path(place))
    print(json.dumps({"fuzzer": sys.argv[1], "seed": int(sys.argv[2]), "failed": False}))
