"""What there is to see in a picture, thing by thing, with a swatch cut from this very picture; no terminal here."""

from collections.abc import Iterable, Sequence

from PIL import Image

from layoutdrill.face import Face
from layoutdrill.face.materials import Material
from layoutdrill.geometry.cutting import without
from layoutdrill.geometry.rect import Rect
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
    "tap": "a small diffusion that ties the well or the substrate to a rail",
    "guard ring": "diffusion round a group of transistors, tied to a rail",
    "contact": "where the metal reaches down and joins what lies below",
    "via": "where one metal reaches down to the metal below it",
    "crossing": "metal passing over another wire, joined to nothing there",
    "gate": "a transistor: the gate's wire crosses diffusion, which ends on both sides of it",
}


@value
class Sight:
    """A thing to be seen, and places of it, the plainest first."""

    name: str
    about: str
    places: tuple[Rect, ...]


def sights(face: Face, hidden: frozenset[str] = frozenset(), shunned: Sequence[Rect] = ()) -> tuple[Sight, ...]:
    """
    Return what a face shows, but for layers that are lifted off. A place within what is `shunned`, such as one that
    is asked about, is never an example; a thing without another place is left out.
    """
    scene = face.scene
    seen: dict[str, list[Rect]] = {}
    for wire in scene.wires:
        if wire.conductor not in hidden and wire.material is not Material.WELL:
            seen.setdefault(str(wire.material), []).append(wire.rect)
    for joint in scene.joints:
        if joint.layer not in hidden:
            seen.setdefault("via" if joint.material is Material.METAL else "contact", []).append(joint.rect)
    for crossing in scene.crossings:
        if crossing.upper.conductor not in hidden and crossing.clean:
            seen.setdefault("crossing", []).append(crossing.rects[0])
    for rects in scene.channels.values():
        seen.setdefault("gate", []).extend(rects[:1])
    cuts, metal = [joint.rect for joint in scene.joints], seen.get("metal", [])
    gates = [rect for rects in scene.channels.values() for rect in rects]
    for name, cover in (("metal", cuts), ("poly", [*metal, *gates]), ("diffusion", [*metal, *seen.get("poly", ())])):
        if name in seen:  # where it lies bare it shows itself best
            seen[name] = list(without(seen[name], cover)) or seen[name]
    listed = []
    for name, about in ABOUT.items():
        places = _plainest(rect for rect in seen.get(name, ()) if not any(rect.overlaps(bad) for bad in shunned))
        if places:
            listed.append(Sight(name, about, places))
    return tuple(listed)


def _plainest(rects: Iterable[Rect]) -> tuple[Rect, ...]:
    """Return places by size, the largest first, each once: a large one shows most of itself."""
    return tuple(sorted(set(rects), key=lambda r: (-min(r.width, r.height), -r.area, r)))


def swatch(subject: Subject, place: Rect) -> Indexed:
    """Cut a swatch round the middle of a place out of the picture, in its look, lot and wear, without its marks."""
    per = subject.face.process.grid_per_lambda
    x, y = place.centre
    wide, high = COLUMNS * per // SCALE, ROWS * 2 * per // SCALE
    region = Rect(x - wide // 2, y - high // 2, x - wide // 2 + wide, y - high // 2 + high)
    plain = Subject(
        subject.face, look=subject.look, seed=subject.seed, wear=subject.wear, overlay=NOTHING, hidden=subject.hidden
    )
    image = paint(plain, region, SCALE).convert("RGB")
    return indexed(image.resize((COLUMNS, ROWS * 2), Image.Resampling.NEAREST), 48)
