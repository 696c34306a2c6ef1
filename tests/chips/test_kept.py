"""What is kept of chips that were proved."""

import zlib

import pytest

from layoutdrill.cells.chips import load_chip
from layoutdrill.layout.text import layout_text
from layoutdrill.process import load_process
from layoutdrill.prove import chips
from layoutdrill.prove.kept import _place, _sum, keep_layout, kept_layout, key_of
from tests.drawings import drawing_of

PROCESS = "metal-gate-sapphire"


class DrawnAnewError(Exception):
    pass


@pytest.fixture
def chip():
    return load_chip("message_buffer")


@pytest.fixture
def key(chip):
    process = load_process(PROCESS)
    return key_of(chip.netlist(process), process, 1, 0.3)


@pytest.fixture
def die(chip_of):
    return chip_of("message_buffer", PROCESS)


@pytest.fixture
def no_drawing(die, monkeypatch):
    def drawn(*_, **__):
        raise DrawnAnewError

    monkeypatch.setattr(chips, "chip_drawing", drawn)


def test_a_kept_die_is_the_same(chip, key, die, no_drawing):
    """Opened a second time, nothing is drawn, and the layout is the same text."""
    keep_layout(key, die.layout, die.attempts)
    again = chips.proved_chip(chip, load_process(PROCESS), 1)
    assert again.layout == die.layout  # shape by shape, so that the same questions are asked
    assert layout_text(again.layout) == layout_text(die.layout)
    assert again.attempts == die.attempts
    assert again.extraction.netlist.text() == die.extraction.netlist.text()


@pytest.mark.parametrize("harm", ["cut short", "a byte", "another key", "no text", "bomb"])
def test_a_damaged_entry_is_passed_over(chip, key, die, no_drawing, harm):
    """An entry that is not as it was written is as good as none: the chip is drawn anew."""
    keep_layout(key, die.layout, 1)
    place = _place(key)
    whole = place.read_bytes()
    head, _, _ = whole.partition(b"\n")
    huge = b"layout a\n" * 2_000_000
    place.write_bytes(
        {
            "cut short": whole[: len(whole) // 2],
            "a byte": whole[:-40] + bytes([whole[-40] ^ 1]) + whole[-39:],
            "another key": b"0" * len(key) + whole[len(key) :],
            "no text": head.replace(head.split()[1], _sum(b"\xff")) + b"\n" + zlib.compress(b"\xff"),
            "bomb": head.replace(head.split()[1], _sum(huge)) + b"\n" + zlib.compress(huge),
        }[harm]
    )
    assert kept_layout(key) is None
    with pytest.raises(DrawnAnewError):
        chips.proved_chip(chip, load_process(PROCESS), 1)


def test_no_other_layout_is_served(chip, key, die, no_drawing):
    """A whole and well-formed entry that holds another circuit is not taken for the chip."""
    keep_layout(key, drawing_of("nand2", PROCESS, 1).layout, 1)
    assert kept_layout(key) is not None
    with pytest.raises(DrawnAnewError):
        chips.proved_chip(chip, load_process(PROCESS), 1)


def test_each_die_has_a_key_of_its_own(chip):
    """Seed, difficulty, process and circuit all count."""
    processes = [load_process(name) for name in (PROCESS, "metal-gate-cmos")]
    keys = {key_of(chip.netlist(p), p, seed, hard) for p in processes for seed in (1, 2) for hard in (0.3, 0.5)}
    assert len(keys) == 8
    assert "" not in keys
