"""
The evidence rule as code: which facts a look shows of a process.

Nothing is listed by hand. For each fact a small drawing is made in which it holds, and one in which it does not; both
are drawn in several lots. A fact is visible when, in grey, no lot of the one can be taken for a lot of the other: hue
alone never counts, nor a brightness that another lot has too.
"""

from collections.abc import Collection, Mapping
from enum import StrEnum
from functools import lru_cache

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.layout.model import Label, Layout
from layoutdrill.picture.evidence_kept import kept
from layoutdrill.picture.looks import Look, Style
from layoutdrill.picture.pen import Pen, Shapes, as_layout, joined
from layoutdrill.picture.render import render
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.process.films import load_films
from layoutdrill.process.terms import Mode


class Fact(StrEnum):
    """What a question may need to know from the picture."""

    KIND = "kind"  # which of two transistors is n and which is p
    KINDS_APART = "kinds apart"  # that two transistors are of different kinds
    DEPLETION = "depletion"  # that a transistor is a depletion one
    GATE = "gate"  # a gate, told from a plain crossing
    GATE_UNDER_METAL = "gate under metal"  # the same where another wire runs over it
    CONTACT = "contact"  # a contact under its metal
    VIA = "via"  # a via under the upper metal
    BURIED_CONTACT = "buried contact"  # poly joined to diffusion without metal
    UNDER_METAL = "under metal"  # whether diffusion runs on under a metal or ends there
    POLY_UNDER_METAL = "poly under metal"  # the same of poly
    WELL = "well"  # where a well ends
    RAILS = "rails"  # which rail is the high one


TEXT: Mapping[Fact, str] = {
    Fact.KIND: "which transistors are n-channel and which p-channel",
    Fact.KINDS_APART: "which transistors are of the same kind",
    Fact.DEPLETION: "which transistors are depletion loads",
    Fact.GATE: "where the gates are",
    Fact.GATE_UNDER_METAL: "gates that lie under a wire",
    Fact.CONTACT: "where the contacts are",
    Fact.VIA: "where the vias are",
    Fact.BURIED_CONTACT: "where poly is joined to diffusion",
    Fact.UNDER_METAL: "how diffusion runs under the metal",
    Fact.POLY_UNDER_METAL: "how poly runs under the metal",
    Fact.WELL: "where the wells end",
    Fact.RAILS: "which rail is the high one",
}
"""Each fact in words, to be told or to be named as missing."""

PIXELS_PER_LAMBDA = 4
LOTS_TRIED = (0, 3, 7, 12, 21, 33, 42, 57)
LEAST_LEVELS = 9.0
"""Difference (8-bit levels, grain averaged out) that counts as seen."""


_FOUND: dict[tuple[str, Process], frozenset[Fact]] = {}


def visible(look: Look, process: Process) -> frozenset[Fact]:
    """
    Return the facts that this look shows of this process; what the process does not have is not among them.

    Those that ship are kept with the package; for others the first call takes a few tenths of a second, later ones
    nothing.
    """
    key = (repr(look), process)
    if key not in _FOUND:
        known = kept(look, process)
        _FOUND[key] = work_out(look, process) if known is None else frozenset(map(Fact, known))
    return _FOUND[key]


def work_out(look: Look, process: Process) -> frozenset[Fact]:
    """Find the facts that a look shows by drawing each with and without."""
    if look.style is Style.TRANSMITTED and load_films(process).base != "sapphire":
        return frozenset()
    found = {
        fact
        for fact, (with_it, without) in pairs(process).items()
        if told_apart(as_layout("with", with_it), as_layout("without", without), process, look)
    }
    if Fact.KIND in found:  # the p transistors hang on the high rail
        found.add(Fact.RAILS)
    return frozenset(found)


def told_apart(one: Layout, other: Layout, process: Process, look: Look, hidden: Collection[str] = ()) -> bool:
    """
    Tell whether a reader could know the one drawing from the other, whatever lots they come from.

    This is the relabelling check: change what an answer rests on, and see whether the picture changes.
    """
    drawn: list[Rect] = [rect for layout in (one, other) if (rect := layout.box)]
    box = bounding_box(drawn)
    if box is None:
        return False
    box = box.grown(2 * process.grid_per_lambda)
    view = View(box, PIXELS_PER_LAMBDA)
    lots = LOTS_TRIED if look.style in (Style.REFLECTED, Style.TRANSMITTED) else (0,)
    lifted = frozenset(hidden)
    ones = [_smooth(render(one, process, look, view, seed=lot, hidden=lifted)) for lot in lots]
    others = [_smooth(render(other, process, look, view, seed=lot, hidden=lifted)) for lot in lots]
    return min(_levels(a, b) for a in ones for b in others) > LEAST_LEVELS


def _smooth(image: Image.Image) -> Image.Image:
    """Take the hue out, and the grain by averaging over three pixels each way."""
    return image.convert("L").filter(ImageFilter.BoxBlur(1))


def _levels(one: Image.Image, other: Image.Image) -> float:
    """Return the largest difference in brightness at any place."""
    _, high = ImageChops.difference(one, other).getextrema()
    assert isinstance(high, (int, float))
    return float(high)


@lru_cache(maxsize=64)
def facts_of(process: Process) -> frozenset[Fact]:
    """Return the facts that exist in a process at all."""
    return frozenset(pairs(process)) | {Fact.RAILS}


def pairs(process: Process) -> dict[Fact, tuple[Shapes, Shapes]]:
    """Return, for each fact that the process can have, a drawing where it holds and one where it does not."""
    pen = Pen(process)
    kind, wire = pen.kinds()[0], pen.wire
    found: dict[Fact, tuple[Shapes, Shapes]] = {}
    if len(pen.kinds()) == 2:
        both = pen.transistors("n", "p")
        found[Fact.KIND] = (both, pen.transistors("p", "n"))
        found[Fact.KINDS_APART] = (both, pen.transistors("n", "n"))
    if any(rule.mode is Mode.DEPLETION for rule in process.transistors):
        found[Fact.DEPLETION] = (pen.transistor("d"), pen.transistor("n"))
    found[Fact.GATE] = (pen.transistor(kind), pen.crossing(kind))
    over = {wire: [pen.box(2, -3, 10, 11)]}
    found[Fact.UNDER_METAL] = (joined(pen.island(kind), over), joined(pen.island(kind, gap=(4, 8)), over))
    if pen.has("poly"):
        poly = pen.layer("poly")
        found[Fact.GATE_UNDER_METAL] = (joined(pen.transistor(kind), over), joined(_ungated(pen, kind), over))
        run = {poly: [pen.box(-4, 3, 16, 5)]}
        cut = {poly: [pen.box(-4, 3, 4, 5), pen.box(8, 3, 16, 5)]}
        found[Fact.POLY_UNDER_METAL] = (joined(run, over), joined(cut, over))
    if pen.has("contact"):
        bare = joined(pen.island(kind), {wire: [pen.box(3, 1, 9, 7)]})
        found[Fact.CONTACT] = (joined(bare, {pen.layer("contact"): [pen.box(5, 3, 7, 5)]}), bare)
    if pen.has("via") and pen.upper is not None:
        plates = {wire: [pen.box(2, 0, 10, 8)], pen.upper: [pen.box(2, 0, 10, 8)]}
        found[Fact.VIA] = (joined(plates, {pen.layer("via"): [pen.box(5, 3, 7, 5)]}), plates)
    if pen.has("buried-contact") and pen.has("poly"):
        lap = joined(pen.island(kind), {pen.layer("poly"): [pen.box(5, 3, 16, 5)]})
        found[Fact.BURIED_CONTACT] = (joined(lap, {pen.layer("buried-contact"): [pen.box(4, 2, 13, 6)]}), lap)
    if pen.has("well"):
        beside = {wire: [pen.box(-4, -6, 16, -3)]}
        found[Fact.WELL] = (joined({pen.layer("well"): [pen.box(0, 0, 12, 12)]}, beside), beside)
    return found


def _ungated(pen: Pen, kind: str) -> Shapes:
    """Draw the same diffusion with poly that stops at its edges: the stubs are seen, the gate is missing."""
    poly = pen.layer("poly")
    return joined(pen.island(kind), {poly: [pen.box(5, -3, 7, -1), pen.box(5, 9, 7, 11)]})


def labelled(layout: Layout, swap: Mapping[str, str]) -> Layout:
    """Return the layout with labels renamed: the relabelling that no picture shows."""
    labels = tuple(Label(swap.get(t.text, t.text), t.layer, t.x, t.y) for t in layout.labels)
    return Layout(layout.name, layout.shapes, labels, layout.placements)
