"""The proof bites: a drawing that was tampered with does not pass."""

from dataclasses import replace

import pytest

from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.engine import drawing
from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from layoutdrill.prove.proof import faults_of
from layoutdrill.rules.bitmap import Field
from tests.drawing.gates import cell

PROCESSES = [load_process("silicon-gate-cmos"), load_process("metal-gate-sapphire")]
WIRING = ("metal", "poly", "silicon", "active", "contact", "window")


def with_layer(layout, mask, rects):
    return Layout(layout.name, {**layout.shapes, mask: tuple(rects)}, layout.labels)


def faults(netlist, process, layout, made):
    return faults_of(netlist, process, layout, extract(layout, process), made)


@pytest.mark.parametrize("process", PROCESSES, ids=lambda p: p.name)
@pytest.mark.parametrize("name", ["inverter", "nand3", "transmission_gate", "latch_static"])
def test_removing_any_one_piece_is_noticed(name, process):
    """
    Take away one contact, gate window, wire piece or diffusion: the netlist changes or a rule is broken.

    Pieces that others cover completely are left out, as nothing changes without them.
    """
    netlist = cell(name, process)
    tried = 0
    for seed in range(2):
        made = drawing(netlist, process, seed, difficulty=0)
        assert made is not None
        field = Field.around(made.layout.box, 8)
        for mask in WIRING:
            rects = made.layout.shapes.get(mask, ())
            whole = field.bits(rects)
            for at in range(len(rects)):
                rest = rects[:at] + rects[at + 1 :]
                if field.bits(rest) != whole:
                    tried += 1
                    assert faults(netlist, process, with_layer(made.layout, mask, rest), made), (mask, rects[at])
    assert tried > 20


def mutated(rects, at, dice):
    """Move a rectangle, or take a strip off one side, by 1 to 4 λ."""
    rect = rects[at]
    by = 2 * dice.between(1, 4)
    side = dice.below(4)
    if dice.chance(50):
        dx, dy = ((by, 0), (-by, 0), (0, by), (0, -by))[side]
        return (*rects[:at], rect.moved(dx, dy), *rects[at + 1 :])
    edges = list(rect)
    edges[side] += by if side < 2 else -by
    kept = (Rect(*edges),) if edges[0] < edges[2] and edges[1] < edges[3] else ()
    return (*rects[:at], *kept, *rects[at + 1 :])


def test_most_harmful_changes_are_noticed():
    """
    At least 95 % of random moves and losses on any layer make the proof fail.

    What passes is legal: a wire with room beside it moved as a whole, a wide diffusion, pad or wire that lost some
    width, implants that overlap their neighbour of the same sort. None of those changes the circuit, as the
    extracted netlist is equal.
    """
    tried = missed = 0
    for process in PROCESSES:
        for name in ("inverter", "nand3", "transmission_gate", "xor2_tg"):
            netlist = cell(name, process)
            dice = Dice.from_text(name + process.name)
            for seed in range(2):
                made = drawing(netlist, process, seed, difficulty=0)
                assert made is not None
                field = Field.around(made.layout.box, 32)
                for _ in range(40):
                    mask = dice.pick(sorted(made.layout.shapes))
                    rects = made.layout.shapes[mask]
                    changed = mutated(rects, dice.below(len(rects)), dice)
                    if field.bits(changed) == field.bits(rects):
                        continue
                    tried += 1
                    missed += not faults(netlist, process, with_layer(made.layout, mask, changed), made)
    assert tried > 500
    assert missed <= 0.05 * tried, (missed, tried)


def test_an_altered_netlist_is_never_proved():
    """Exchange two nets of one transistor, or move a terminal: the drawing is no longer of this netlist."""
    for process in PROCESSES:
        netlist = cell("aoi22", process)
        made = drawing(netlist, process, 1)
        assert made is not None
        extraction = extract(made.layout, process)
        dice = Dice(1)
        for _ in range(40):
            at = dice.below(len(netlist.transistors))
            device = netlist.transistors[at]
            field = dice.pick(("gate", "source", "drain"))
            net = dice.pick([n for n in netlist.nets if n not in (device.gate, device.source, device.drain)])
            changed = replace(device, **{field: net})
            other = replace(netlist, transistors=(*netlist.transistors[:at], changed, *netlist.transistors[at + 1 :]))
            assert faults_of(other, process, made.layout, extraction, made)
