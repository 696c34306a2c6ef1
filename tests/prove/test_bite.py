"""The proof bites: a drawing that was tampered with does not pass."""

from collections import Counter
from dataclasses import replace
from itertools import product

import pytest

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.draw import drawing
from layoutdrill.drawing.shared import Request
from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from layoutdrill.prove.proof import faults_of
from layoutdrill.rules.bitmap import Field
from tests.drawing.gates import cell
from tests.sampling import covering, some

PROCESSES = [load_process("silicon-gate-cmos"), load_process("metal-gate-sapphire")]
WIRING = ("metal", "poly", "silicon", "active", "contact", "window")


def with_layer(layout, mask, rects):
    return Layout(layout.name, {**layout.shapes, mask: tuple(rects)}, layout.labels)


def faults(netlist, process, layout, made):
    return faults_of(netlist, process, layout, extract(layout, process), made)


PLAIN = ("inverter", "nand3", "transmission_gate", "latch_static")


@pytest.mark.parametrize(
    ("name", "process"), covering(product(PLAIN, PROCESSES)), ids=lambda value: getattr(value, "name", value)
)
def test_removing_any_one_piece_is_noticed(name, process):
    """
    Take away one contact, gate window, wire piece or diffusion: the netlist changes or a rule is broken.

    Pieces that others cover completely are left out, as nothing changes without them.
    """
    netlist = cell(name, process)
    tried = 0
    for seed in some(range(2)):
        made = drawing(Request(netlist, process, seed, difficulty=0))
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


# Each harm takes (layout, extraction, dice) and returns the layer that it changed and its rectangles after the change.


def pick(layout, dice, masks):
    mask = dice.pick([mask for mask in masks if layout.shapes.get(mask)])
    rects = layout.shapes[mask]
    at = dice.below(len(rects))
    return mask, rects[at], rects[:at] + rects[at + 1 :]


def cut_through(layout, _, dice):
    """Take a slice of 1 λ out of a wire, across its whole width."""
    mask, r, rest = pick(layout, dice, ("metal", "poly"))
    if r.width > r.height:
        x = dice.between(r.x0, r.x1 - 2)
        kept = (Rect(r.x0, r.y0, x, r.y1), Rect(x + 2, r.y0, r.x1, r.y1))
    else:
        y = dice.between(r.y0, r.y1 - 2)
        kept = (Rect(r.x0, r.y0, r.x1, y), Rect(r.x0, y + 2, r.x1, r.y1))
    return mask, (*rest, *(k for k in kept if k.x0 < k.x1 and k.y0 < k.y1))


def bridge(layout, extraction, dice):
    """Join two shapes of different nets on one layer."""
    mask = dice.pick([m for m in ("metal", "poly") if layout.shapes.get(m)])
    shapes = [(net, r) for net in extraction.netlist.nets for r in extraction.net_shapes(net).get(mask, ())]
    gaps = []
    for net, r in shapes:
        for other, q in shapes:
            x0, x1 = max(r.x0, q.x0), min(r.x1, q.x1)
            if net != other and x1 > x0 and r.y1 < q.y0:
                gaps.append(Rect(x0, r.y1, x1, q.y0))
    return mask, (*layout.shapes[mask], *([dice.pick(gaps)] if gaps else []))


def narrow(layout, _, dice):
    """Take 1 λ off the width of a wire."""
    mask, r, rest = pick(layout, dice, ("metal", "poly"))
    thin = Rect(r.x0, r.y0, r.x1, r.y1 - 2) if r.width > r.height else Rect(r.x0, r.y0, r.x1 - 2, r.y1)
    return mask, (*rest, thin)


def displace(layout, _, dice):
    """Move a contact or a gate window by 1 or 2 λ."""
    mask, r, rest = pick(layout, dice, ("contact", "window"))
    by = 2 * dice.between(1, 2)
    return mask, (*rest, r.moved(*dice.pick(((by, 0), (-by, 0), (0, by), (0, -by)))))


def shrink_cut(layout, _, dice):
    """Take half a λ or more off a contact or a window."""
    mask, r, rest = pick(layout, dice, ("contact", "window"))
    return mask, (*rest, Rect(r.x0, r.y0, r.x1 - dice.between(1, 3), r.y1))


def shorten(layout, _, dice):
    """Pull both ends of a wire in by 1 λ."""
    mask, r, rest = pick(layout, dice, ("metal", "poly"))
    short = Rect(r.x0 + 2, r.y0, r.x1 - 2, r.y1) if r.width > r.height else Rect(r.x0, r.y0 + 2, r.x1, r.y1 - 2)
    return mask, (*rest, short)


def bare(layout, _, dice):
    """Take 1 λ off an implant, a well or a diffusion, on any side."""
    mask, r, rest = pick(layout, dice, ("nplus", "pplus", "nselect", "pselect", "nwell", "active", "silicon"))
    edges = list(r)
    side = dice.below(4)
    edges[side] += 2 if side < 2 else -2
    return mask, (*rest, Rect(*edges))


def swap_implant(layout, _, dice):
    """Lose an implant or a well altogether."""
    mask, _, rest = pick(layout, dice, ("nplus", "pplus", "nselect", "pselect", "nwell"))
    return mask, rest


def stray_gate(layout, _, dice):
    """Draw a strip of gate material across a diffusion."""
    _, r, _ = pick(layout, dice, ("active", "silicon"))
    mask = "poly" if "poly" in layout.shapes else "window"
    x = dice.between(r.x0, max(r.x0, r.x1 - 4))
    return mask, (*layout.shapes[mask], Rect(x, r.y0 - 4, x + 4, r.y1 + 4))


HARMS = (cut_through, bridge, narrow, displace, shrink_cut, shorten, bare, swap_implant, stray_gate)


def test_harmful_changes_are_noticed():
    """
    Of nine sorts of harm, dealt out at random, at least 95 % make the proof fail.

    What passes, and why that is right: a wire cut, narrowed or shortened where a pad or another wire of its net
    covers it, or a diffusion wider than the least (the union is as legal, and connects the same); a window drawn
    across doped silicon with no undoped part, which makes no channel.
    """
    tried, missed = Counter(), Counter()
    for process in PROCESSES:
        for name in ("inverter", "nand3", "transmission_gate", "xor2_tg"):
            netlist = cell(name, process)
            dice = Dice.from_text(name + process.name)
            for seed in some(range(2)):
                made = drawing(Request(netlist, process, seed, difficulty=0))
                assert made is not None
                extraction = extract(made.layout, process)
                field = Field.around(made.layout.box, 32)
                for harm in HARMS:
                    for _ in range(5):
                        mask, rects = harm(made.layout, extraction, dice)
                        if field.bits(rects) != field.bits(made.layout.shapes[mask]):
                            tried[harm.__name__] += 1
                            found = faults(netlist, process, with_layer(made.layout, mask, rects), made)
                            missed[harm.__name__] += not found
    assert set(tried) == {harm.__name__ for harm in HARMS}
    assert missed.total() <= 0.05 * tried.total(), (missed, tried)


def test_an_altered_netlist_is_never_proved():
    """Exchange two nets of one transistor, or move a terminal: the drawing is no longer of this netlist."""
    for process in PROCESSES:
        netlist = cell("aoi22", process)
        made = drawing(Request(netlist, process, 1))
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
