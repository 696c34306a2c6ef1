"""What there is to see in a picture, thing by thing, with a swatch cut from this very picture; no terminal here."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from PIL import Image

from layoutdrill.face import Face
from layoutdrill.face.materials import Material
from layoutdrill.geometry.cutting import without
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.stages import Stage, taken_off
from layoutdrill.screens.subject import NOTHING, Indexed, Subject, indexed, paint
from layoutdrill.value import value

COLUMNS, ROWS = 16, 4
"""Cells of a swatch."""
SCALE = 2
"""Half-pixels per λ of a swatch: at 2 the rims of contacts show."""

ABOUT = {
    "metal": "the wires on top",
    "poly": "gates, and short wires below the metal",
    "diffusion": "doped silicon: sources, drains, and wires at the very bottom",
    "other diffusion": "doped silicon of the other kind; which is n and which p the picture does not say by itself",
    "edge of a well": "where the deep doping ends in which the transistors of one kind stand",
    "tap": "a small diffusion that ties the well or the substrate to a rail",
    "guard ring": "diffusion round a group of transistors, tied to a rail",
    "contact": "where the metal reaches down and joins what lies below",
    "via": "where one metal reaches down to the metal below it",
    "crossing": "metal passing over another wire, joined to nothing there",
    "gate": "a transistor: the gate's wire crosses diffusion, which ends on both sides of it",
}

_DOPED = (Material.DIFFUSION, Material.TAP, Material.RING)
"""What is doped silicon: no layer is called so, the active layer outlines it."""


@value
class Sight:
    """A thing to be seen, and places of it, the plainest first."""

    name: str
    about: str
    places: tuple[Rect, ...]


def sights(
    face: Face, hidden: frozenset[str] = frozenset(), shunned: Sequence[Rect] = (), *, wells: bool = False
) -> tuple[Sight, ...]:
    """
    Return what a face shows, but for layers that are `hidden`: lifted off or taken off; with `wells` their edges too. A
    place within what is `shunned`, such as one that is asked about, is never an example; a thing without another place
    is left out.
    """
    scene = face.scene
    seen: dict[str, list[Rect]] = {}
    bare = hidden.issuperset(scene.actives)  # no layer outlines diffusion then
    doped = [wire for wire in scene.wires if wire.material is Material.DIFFUSION]
    uppermost = max(doped, key=lambda wire: (wire.rect.y1, -wire.rect.x0)).conductor if doped else ""  # be it n or p
    for wire in scene.wires:
        unseen = bare if wire.material in _DOPED else wire.conductor in hidden
        if not unseen and wire.material is not Material.WELL:
            other = wire.material is Material.DIFFUSION and wire.conductor != uppermost
            seen.setdefault("other diffusion" if other else str(wire.material), []).append(wire.rect)
    if wells:
        seen["edge of a well"] = _edges(scene.wells[1], [wire.rect for wire in scene.wires], face.unit.per)
    for joint in scene.joints:
        if joint.layer not in hidden:
            seen.setdefault("via" if joint.material is Material.METAL else "contact", []).append(joint.rect)
    for crossing in scene.crossings:
        below = bare if crossing.lower.material in _DOPED else crossing.lower.conductor in hidden
        if crossing.upper.conductor not in hidden and not below and crossing.clean:
            seen.setdefault("crossing", []).append(crossing.rects[0])
    role = "metal" if scene.metal_gate else "poly"
    lines = [name for name, layer in face.process.layers.items() if layer.role == role]
    for rects in () if bare or hidden.issuperset(lines) else scene.channels.values():
        seen.setdefault("gate", []).extend(rects[:1])
    cuts, metal = [joint.rect for joint in scene.joints], seen.get("metal", [])
    gates = [rect for rects in scene.channels.values() for rect in rects]
    stepped = seen.get("poly", [])  # its steps show through metal
    for name, cover in (
        ("metal", [*cuts, *stepped, *gates]),
        ("poly", [*metal, *gates]),
        ("diffusion", [*metal, *seen.get("poly", ())]),
        ("other diffusion", [*metal, *seen.get("poly", ())]),
    ):
        if name in seen:  # where it lies bare it shows itself best
            seen[name] = list(without(seen[name], cover)) or seen[name]
    listed = []
    for name, about in ABOUT.items():
        free = (rect for rect in seen.get(name, ()) if not any(rect.overlaps(bad) for bad in shunned))
        places = _plainest(part for rect in free if (part := face.shown_part(rect)) is not None)
        if places:
            listed.append(Sight(name, about, places))
    return tuple(listed)


def _edges(wells: Iterable[Rect], wires: Sequence[Rect], per: int) -> list[Rect]:
    """Return places on the edges of wells, `_ON_EDGE` λ each way, where nothing else lies."""
    reach = _ON_EDGE * per
    places = [
        Rect(x, y, x + 1, y + 1).grown(reach)
        for r in wells
        for x, y in (
            *((r.x0 + (r.width * part) // 8, side) for part in range(1, 8) for side in (r.y0, r.y1)),
            *((side, r.y0 + (r.height * part) // 8) for part in range(1, 8) for side in (r.x0, r.x1)),
        )
    ]
    return [place for place in places if not any(place.overlaps(wire) for wire in wires)]


_ON_EDGE = 2


def _plainest(rects: Iterable[Rect]) -> tuple[Rect, ...]:
    """Return places by size, the largest first, each once: a large one shows most of itself."""
    return tuple(sorted(set(rects), key=lambda r: (-min(r.width, r.height), -r.area, r)))


def gone(subject: Subject) -> frozenset[str]:
    """Return the layers of which the picture shows nothing: lifted off, or taken off the die."""
    taken = taken_off(subject.face.process, Stage(subject.stage)) if subject.stage else frozenset[str]()
    return subject.hidden | taken


def swatch_region(subject: Subject, place: Rect) -> Rect:
    """Return what a swatch shows: what lies round the middle of a place, where the picture shows it."""
    per = subject.face.process.grid_per_lambda
    x, y = subject.face.seen_at(subject.light, *place.centre)
    wide, high = COLUMNS * per // SCALE, ROWS * 2 * per // SCALE
    return Rect(x - wide // 2, y - high // 2, x - wide // 2 + wide, y - high // 2 + high)


def swatch(subject: Subject, place: Rect) -> Indexed:
    """Cut a swatch round the middle of a place out of the picture, as it is seen, without its marks."""
    image = paint(replace(subject, overlay=NOTHING), swatch_region(subject, place), SCALE).convert("RGB")
    return indexed(image.resize((COLUMNS, ROWS * 2), Image.Resampling.NEAREST), 48)
