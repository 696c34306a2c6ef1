"""
The evidence rule as code: which facts a look shows of a process.

Nothing is listed by hand. For each fact a small drawing is made in which it holds, and one in which it does not; both
are drawn as the picture in question is: in its lot, at its scale, in its light, as worn. A fact is shown when, in grey,
the two differ by more than dirt does: hue alone never counts. Which of two shades is n is no fact of the eye: where
shade alone tells the kinds, the question says which is the lighter.
"""

from collections import OrderedDict
from collections.abc import Collection, Mapping
from dataclasses import replace
from enum import StrEnum
from functools import lru_cache
from itertools import combinations

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.layout.model import Label, Layout
from layoutdrill.picture.aid import aided
from layoutdrill.picture.evidence_kept import kept
from layoutdrill.picture.looks import FROM_BELOW, PHOTOGRAPHIC, Look, Style, load_look
from layoutdrill.picture.objectives import Objective
from layoutdrill.picture.palette import LOTS
from layoutdrill.picture.pen import Pen, Shapes, as_layout, joined
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.stages import Stage, stages_of
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.process.films import load_films
from layoutdrill.process.terms import Mode
from layoutdrill.value import value


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
    POLY_ALONG_METAL = "poly along metal"  # poly that runs on below a wire of its own direction
    UNDER_UPPER = "under upper metal"  # a contact or tap below an upper metal, told from nothing there
    WELL = "well"  # where a well ends
    TAP = "tap"  # a tap of well or substrate under its rail
    RAILS = "rails"  # which rail is the high one


TEXT: Mapping[Fact, str] = {
    Fact.KIND: "which transistors are n-channel and which p-channel",
    Fact.KINDS_APART: "which transistors are of the same kind",
    Fact.DEPLETION: "which transistors are depletion ones",
    Fact.GATE: "where the gates are",
    Fact.GATE_UNDER_METAL: "gates that lie under a wire",
    Fact.CONTACT: "where the contacts are",
    Fact.VIA: "where the vias are",
    Fact.BURIED_CONTACT: "where poly is joined to diffusion",
    Fact.UNDER_METAL: "how diffusion runs under the metal",
    Fact.POLY_UNDER_METAL: "how poly runs under the metal",
    Fact.POLY_ALONG_METAL: "poly that runs along below a wire",
    Fact.UNDER_UPPER: "what lies under the upper metal",
    Fact.WELL: "where the wells end",
    Fact.TAP: "where wells and substrate are tapped",
    Fact.RAILS: "which rail is the high one",
}
"""Each fact in words, to be told or to be named as missing."""

PIXELS_PER_LAMBDA = 3
"""The scale at which a look is judged when nobody says which picture."""
LOTS_TRIED = (0, 3, 7, 12, 21, 33, 42, 57)
DIRT_TRIED = 3
"""So many dies, worn alike, are looked at where there is wear."""
LEAST_LEVELS = 9.0
"""Difference (8-bit levels, grain averaged out) that counts as seen on a clean die."""


@value
class Sight:
    """
    The picture that is asked about: a look at a process, the lot of its `seed`, the scale in pixels per λ, wear (0 to
    1), whether the tracing aid is wanted, the mask layers taken off, the objective (None: the one that suits), the
    stage of removal.
    """

    look: Look
    process: Process
    seed: int = 0
    scale: float = PIXELS_PER_LAMBDA
    wear: float = 0.0
    aid: bool = False
    hidden: frozenset[str] = frozenset()
    objective: Objective | None = None
    stage: Stage | None = None


_OF_AREAS = frozenset({Fact.KIND, Fact.KINDS_APART, Fact.WELL})
"""Facts that the shade of an area tells. In dark field areas are black; how a rim shines says nothing of doping."""

_SHOWN: "OrderedDict[tuple[object, ...], bool]" = OrderedDict()
_MOST_SHOWN = 4096


def shown(sight: Sight, wanted: Collection[Fact] | None = None) -> frozenset[Fact]:
    """
    Return which of the `wanted` facts (all that the process has) this very picture shows.

    The first call takes some milliseconds a fact; answers are kept.
    """
    process = sight.process
    if sight.look.style in FROM_BELOW and load_films(process).base != "sapphire":
        return frozenset()
    if sight.stage is not None and sight.stage not in stages_of(process, load_films(process)):
        return frozenset()
    known = facts_of(process)
    asked = known if wanted is None else known & frozenset(wanted)
    drawn = asked - {Fact.RAILS}
    if Fact.RAILS in asked:  # the p transistors hang on the high rail
        drawn |= {Fact.KIND} & known
    if sight.look.style is Style.DARK_FIELD:
        drawn -= _OF_AREAS
    clear = visible(sight.look, process) if _as_judged(sight) else frozenset()
    seen = {fact for fact in drawn if fact in clear or _shows(sight, fact)}
    if Fact.KIND in seen:
        seen.add(Fact.RAILS)
    return frozenset(seen) & asked


_JUDGING: set[tuple[str, Process]] = set()


def _as_judged(sight: Sight) -> bool:
    """Tell whether a picture is one of those by which a look was judged: what every lot shows, this one does."""
    if sight.wear or sight.hidden or sight.objective or sight.stage or sight.scale != PIXELS_PER_LAMBDA:
        return False
    return (repr(sight.look), sight.process) not in _JUDGING


def _shows(sight: Sight, fact: Fact) -> bool:
    look, process = sight.look, sight.process
    photographic = look.style in PHOTOGRAPHIC
    lot = sight.seed % LOTS if photographic else 0
    aid = photographic and aided(process, sight.scale, wanted=sight.aid)
    wear = round(sight.wear, 1) if photographic else 0.0
    key = (look.name, repr(look.paints), tuple(sorted(look.settings.items())), process, fact, lot, sight.scale, wear,
           aid, sight.hidden, sight.objective, sight.stage)  # fmt: skip
    if key not in _SHOWN:
        with_it, without = pairs(process)[fact]
        sight = Sight(look, process, lot, sight.scale, wear, aid, sight.hidden, sight.objective, sight.stage)
        _SHOWN[key] = differ(as_layout("with", with_it), as_layout("without", without), sight)
        if len(_SHOWN) > _MOST_SHOWN:
            _SHOWN.popitem(last=False)
    return _SHOWN[key]


def differ(one: Layout, other: Layout, sight: Sight) -> bool:
    """
    Tell whether a reader could know the one drawing from the other in this picture.

    The difference must stand out from what dirt does to either: both are looked at on several dies worn alike.
    """
    drawn: list[Rect] = [rect for layout in (one, other) if (rect := layout.box)]
    box = bounding_box(drawn)
    if box is None:
        return False
    view = View(box.grown(2 * sight.process.grid_per_lambda), sight.scale)
    tries = range(sight.seed, sight.seed + (DIRT_TRIED if sight.wear else 1) * LOTS, LOTS)

    def taken(layout: Layout) -> list[Image.Image]:
        shot = Shot(
            sight.look,
            view,
            wear=sight.wear,
            hidden=sight.hidden,
            aid=sight.aid,
            objective=sight.objective,
            stage=sight.stage,
        )
        return [_smooth(render(layout, sight.process, replace(shot, seed=number))) for number in tries]

    ones, others = taken(one), taken(other)
    clutter = max((_mean(a, b) for a, b in combinations(others, 2)), default=0.0)
    return min(_levels(a, b) for a, b in zip(ones, others, strict=True)) > LEAST_LEVELS + clutter


LEAST_TINT = 5
"""Difference (8-bit levels of one colour, grain averaged out) from which an area is seen to have another hue."""


@lru_cache(maxsize=512)
def tinted(look: str, process: Process, lot: int, scale: float, fact: Fact) -> bool:
    """
    Tell whether a fact shows at least by hue on a clean die, in a look of this name: too little to rely on, but enough
    to be seen by many.

    What is said to be undecided must not be seen in this way either.
    """
    both = pairs(process).get(fact)
    if both is None:
        return False
    layouts = [as_layout("tint", shapes) for shapes in both]
    box = bounding_box(rect for layout in layouts if (rect := layout.box))
    assert box is not None
    view, drawn_in = View(box.grown(2 * process.grid_per_lambda), scale), load_look(look)
    one, other = (
        render(layout, process, Shot(drawn_in, view, seed=lot)).filter(ImageFilter.BoxBlur(1)) for layout in layouts
    )
    return any(_levels(a, b) >= LEAST_TINT for a, b in zip(one.split(), other.split(), strict=True))


_VISIBLE: dict[tuple[str, Process], frozenset[Fact]] = {}


def visible(look: Look, process: Process) -> frozenset[Fact]:
    """
    Return the facts that this look shows of this process in every lot, clean, without aid, at PIXELS_PER_LAMBDA.

    What the process does not have is not among them. Those that ship are kept with the package; for others the first
    call takes about a second, later ones nothing.
    """
    key = (repr(look), process)
    if key not in _VISIBLE:
        known = kept(look, process)
        _VISIBLE[key] = work_out(look, process) if known is None else frozenset(map(Fact, known))
    return _VISIBLE[key]


def work_out(look: Look, process: Process) -> frozenset[Fact]:
    """Find the facts that a look shows by drawing each with and without, in several lots."""
    lots = LOTS_TRIED if look.style in PHOTOGRAPHIC else (0,)
    key = (repr(look), process)
    _JUDGING.add(key)
    try:
        return frozenset.intersection(*(shown(Sight(look, process, lot)) for lot in lots))
    finally:
        _JUDGING.discard(key)


def told_apart(one: Layout, other: Layout, process: Process, look: Look, hidden: Collection[str] = ()) -> bool:
    """
    Tell whether a reader could know the one drawing from the other in any lot.

    This is the relabelling check: change what an answer rests on, and see whether the picture changes.
    """
    lots = LOTS_TRIED if look.style in PHOTOGRAPHIC else (0,)
    return all(differ(one, other, Sight(look, process, lot, hidden=frozenset(hidden))) for lot in lots)


def _smooth(image: Image.Image) -> Image.Image:
    """Take the hue out, and the grain by averaging over three pixels each way."""
    return image.convert("L").filter(ImageFilter.BoxBlur(1))


def _levels(one: Image.Image, other: Image.Image) -> float:
    """Return the largest difference in brightness at any place."""
    return float(max(level for level, count in enumerate(ImageChops.difference(one, other).histogram()) if count))


def _mean(one: Image.Image, other: Image.Image) -> float:
    """Return the mean difference in brightness."""
    counts = ImageChops.difference(one, other).histogram()
    return sum(level * count for level, count in enumerate(counts)) / sum(counts)


@lru_cache(maxsize=64)
def facts_of(process: Process) -> frozenset[Fact]:
    """Return the facts that exist in a process at all."""
    return frozenset(pairs(process)) | {Fact.RAILS}


def pairs(process: Process) -> dict[Fact, tuple[Shapes, Shapes]]:
    """Return, for each fact that the process can have, a drawing where it holds and one where it does not."""
    pen = Pen(process)
    kind, wire = pen.kinds()[0], pen.wire
    pairs_of: dict[Fact, tuple[Shapes, Shapes]] = {}
    if len(pen.kinds()) == 2:
        both = pen.transistors("n", "p")
        pairs_of[Fact.KIND] = (both, pen.transistors("p", "n"))
        pairs_of[Fact.KINDS_APART] = (both, pen.transistors("n", "n"))
    if any(rule.mode is Mode.DEPLETION for rule in process.transistors):
        pairs_of[Fact.DEPLETION] = (pen.transistor("d"), pen.transistor("n"))
    pairs_of[Fact.GATE] = (pen.transistor(kind), pen.crossing(kind))
    over = {wire: [pen.box(2, -3, 10, 11)]}
    pairs_of[Fact.UNDER_METAL] = (joined(pen.island(kind), over), joined(pen.island(kind, gap=(4, 8)), over))
    if pen.has("poly"):
        poly = pen.layer("poly")
        pairs_of[Fact.GATE_UNDER_METAL] = (joined(pen.transistor(kind), over), joined(_ungated(pen, kind), over))
        run = {poly: [pen.box(-4, 3, 16, 5)]}
        cut = {poly: [pen.box(-4, 3, 4, 5), pen.box(8, 3, 16, 5)]}
        pairs_of[Fact.POLY_UNDER_METAL] = (joined(run, over), joined(cut, over))
        along = {wire: [pen.box(0, 2.5, 12, 5.5)]}
        pairs_of[Fact.POLY_ALONG_METAL] = (
            joined(run, along),
            joined({poly: [pen.box(-4, 3, 2, 5), pen.box(10, 3, 16, 5)]}, along),
        )
    if pen.has("contact"):
        bare = joined(pen.island(kind), {wire: [pen.box(3, 1, 9, 7)]})
        pairs_of[Fact.CONTACT] = (joined(bare, {pen.layer("contact"): [pen.box(5, 3, 7, 5)]}), bare)
    if pen.has("via") and pen.upper is not None:
        plates = {wire: [pen.box(2, 0, 10, 8)], pen.upper: [pen.box(2, 0, 10, 8)]}
        pairs_of[Fact.VIA] = (joined(plates, {pen.layer("via"): [pen.box(5, 3, 7, 5)]}), plates)
    if pen.has("contact") and pen.upper is not None:
        plates = joined(pen.island(kind), {wire: [pen.box(2, 0, 10, 8)], pen.upper: [pen.box(2, 0, 10, 8)]})
        hole = {pen.layer("contact"): [pen.box(5, 3, 7, 5)]}
        pairs_of[Fact.UNDER_UPPER] = (joined(plates, hole), plates)
    if pen.has("buried-contact") and pen.has("poly"):
        lap = joined(pen.island(kind), {pen.layer("poly"): [pen.box(5, 3, 16, 5)]})
        pairs_of[Fact.BURIED_CONTACT] = (joined(lap, {pen.layer("buried-contact"): [pen.box(4, 2, 13, 6)]}), lap)
    tap = pen.tap()
    if tap is not None:
        rail = {wire: [pen.box(-4, -1, 16, 7)]}
        pairs_of[Fact.TAP] = (joined(tap, rail), rail)
    if pen.has("well"):
        beside = {wire: [pen.box(-4, -6, 16, -3)]}
        pairs_of[Fact.WELL] = (joined({pen.layer("well"): [pen.box(0, 0, 12, 12)]}, beside), beside)
    return pairs_of


def _ungated(pen: Pen, kind: str) -> Shapes:
    """Draw the same diffusion with poly that stops at its edges: the stubs are seen, the gate is missing."""
    poly = pen.layer("poly")
    return joined(pen.island(kind), {poly: [pen.box(5, -3, 7, -1), pen.box(5, 9, 7, 11)]})


def labelled(layout: Layout, swap: Mapping[str, str]) -> Layout:
    """Return the layout with labels renamed: the relabelling that no picture shows."""
    labels = tuple(Label(swap.get(t.text, t.text), t.layer, t.x, t.y) for t in layout.labels)
    return Layout(layout.name, layout.shapes, labels, layout.placements)
