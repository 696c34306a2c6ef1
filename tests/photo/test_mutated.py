"""Decks and mark files changed at random: a message with its place, or a pass; never a traceback."""

import random

import pytest

from layoutdrill.deck.files import read_file as read_deck_file
from layoutdrill.deck.json_schema import deck_schema
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.photo import PhotoFace
from layoutdrill.photo.read import read_file
from layoutdrill.process import load_process

DECK = """\
format: 1
title: Beacon
about: A deck with everything in it.
author: A. Writer
licence: CC0-1.0
processes: [silicon-gate-cmos, metal-gate-sapphire]
kinds: {name: 2, count: 1}
difficulty: [0.1, 0.4]
wear: used
cells:
  - name: lamp_gate
    title: gate of the lamp line
    structure: OAI31
    ports: {a: input, b: input, c: input, on: enable, y: output}
    function: y = !((a + b + c) * on)
    look for: three p transistors in series
layouts:
  - name: switch
    structure: pass transistor
    process: silicon-gate-nmos
    ports: {a: signal, g: enable, y: signal}
    shapes:
      active: [[0, 0, 14, 4]]
      poly: [[6, -4, 8, 8]]
    labels: {g: [poly, 7, 7]}
items:
  - {cells: [nand2..nand4, lamp_gate], seed: [1, 2], words: "Look:", note: So it is.}
  - photo: gate.marks.yaml
    regions: [gate, gate.1.0]
    hints: ["Which rail?"]
pages:
  - {title: One, text: Words., picture: {cell: nand2, seed: 4}}
  - {title: Two, text: Words., picture: {photo: gate.marks.yaml, caption: A die}}
"""
MARKS = """\
- photograph: 1
- process: "silicon-gate-cmos"
- scale: {pixels per lambda: 8, nm per pixel: 187.5}
- shown: {turn: 90, mirror: true}
- shows: [rails]
- picture: {file: "a.png", size: [544, 336]}
- picture: {file: "b.png", stage: "metal off", light: transmitted, size: [544, 336]}
- join: {picture: "b.png", at: [10, 12], on: [10, 12]}
- join: {picture: "b.png", at: [500, 12], on: [501, 12]}
- join: {picture: "b.png", at: [30, 300], on: [30, 301]}
- wire: {net: "VDD", layer: "metal", width: 28, at: [[500, 40], [500, 200], [460, 240]]}
- point: {net: "VSS", layer: "metal", at: [48, 250]}
- contact: {net: "VSS", joins: ["metal", "diffusion"], size: 16, at: [140, 62]}
- transistor: {kind: "n", gate: "b", ends: ["VSS", "inner"], channel: [16, 48], at: [[148, 104], [148, 70], [148, 160]]}
- transistor: {name: "P", kind: "p", gate: "a", ends: ["VDD", "y"], at: [[344, 232], [344, 205], [344, 265]]}
- port: {net: "a", role: "input", at: [120, 232]}
- port: {net: "an", role: "input", complement of: "a", at: [120, 132]}
- region: {name: "gate", structure: "NAND2", complete: [contacts, wires], outline: [[2, 2], [400, 2], [400, 330]]}
- repeat: {region: "gate", columns: 2, rows: 2, right: [400, 0], down: [0, 300], shared: ["VDD"], along rows: ["b"]}
- rename: {net: "inner", to: "n1"}
- point: {net: "x", layer: "poly", at: [1, 2]}
- undo: 1
- remove: 12
"""
WORDS = ("", "null", "[]", "{}", "-1", "1e9", "nan", "../x", "*a", "&a", "!x", "\x00", "é", "99999999999", "[[1,2]]")


def changed(text, dice):
    """Change a text in one to three places: a character, a line, a word, a stretch."""
    for _ in range(dice.randint(1, 3)):
        at = dice.randrange(len(text) + 1)
        to = min(len(text), at + dice.choice((1, 2, 5, 40)))
        lines = text.split("\n")
        how = dice.randrange(5)
        if how == 0:
            text = text[:at] + text[to:]
        elif how == 1:
            text = text[:at] + dice.choice(WORDS) + text[to:]
        elif how == 2:
            text = (
                text[:at]
                + chr(dice.choice((9, 34, 39, 44, 58, 91, 93, 123, 125, 0x202E, dice.randrange(32, 300))))
                + text[at:]
            )
        elif how == 3:
            line = dice.randrange(len(lines))
            lines.insert(dice.randrange(len(lines)), lines[line])
            text = "\n".join(lines)
        else:
            del lines[dice.randrange(len(lines))]
            text = "\n".join(lines)
        text = text or "x"
    return text


def tried_deck(path):
    """Read a deck; every error has its place."""
    deck, errors = read_deck_file(path)
    assert all(error.where and error.where.file for error in errors)
    assert all("\n" not in str(error) for error in errors)
    return deck, errors


def tried_marks(path):
    """Read marks and, where they stand, look at what they spell; every error has its place."""
    marks, errors = read_file(path)
    assert all(error.where and error.where.file for error in errors)
    if errors:
        return marks, errors
    for region in ("", *(one.name for one in marks.regions)):
        try:
            face = PhotoFace.of(marks, load_process(marks.process), region)
            _ = face.extraction.findings, face.netlist.text(), face.box
        except LayoutdrillError:
            continue
    return marks, errors


@pytest.mark.parametrize("start", range(5))
def test_mutated_decks_and_marks_are_told_or_pass(tmp_path, start):
    """100 of each start, half decks and half mark files; 10,000 by hand: python -m tests.photo.test_mutated 10000."""
    told = many(tmp_path, start * 1000, 100)
    assert 20 < told < 100  # most changes are slips that must be told, some leave what can be read


def many(folder, first, count):
    """Try so many; return how many were refused in words."""
    told = 0
    (folder / "gate.marks.yaml").write_text(MARKS, encoding="utf-8")
    for seed in range(first, first + count):
        dice = random.Random(seed)
        if seed % 2:
            path = folder / "deck.yaml"
            path.write_bytes(changed(DECK, dice).encode("utf-8", "surrogatepass"))
            told += bool(tried_deck(path)[1])
        else:
            path = folder / "changed.marks.yaml"
            path.write_bytes(changed(MARKS, dice).encode("utf-8", "surrogatepass"))
            told += bool(tried_marks(path)[1])
    return told


def test_the_texts_that_are_changed_are_right_themselves(tmp_path):
    (tmp_path / "gate.marks.yaml").write_text(MARKS, encoding="utf-8")
    marks, errors = read_file(tmp_path / "gate.marks.yaml")
    assert not errors
    assert (len(marks.transistors), len(marks.points), marks.transistors[0].ends) == (2, 0, ("VSS", "n1"))
    path = tmp_path / "deck.yaml"
    path.write_text(DECK, encoding="utf-8")
    deck, errors = tried_deck(path)
    assert not errors
    assert set(deck.photographs) == {"gate/gate", "gate/gate.1.0", "gate/gate.0.1", "gate/gate.1.1"}
    assert deck_schema()["$defs"]


if __name__ == "__main__":
    import sys
    import tempfile
    from pathlib import Path

    with tempfile.TemporaryDirectory() as tried:
        total = int(sys.argv[1])
        for begin in range(0, total, 500):
            many(Path(tried), 1_000_000 + begin, 500)
            print(f"{begin + 500} of {total}", flush=True)
