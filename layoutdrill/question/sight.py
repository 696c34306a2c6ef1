"""What lies at a point: the truths that a reader may tell of it, and points where only one thing is to be told."""

from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum

from layoutdrill.dice import Dice
from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Crossing, Piece, Scene, Wire
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.units import GridUnits


class Sight(StrEnum):
    """What a spot can be; the values are the trade's terms."""

    TRANSISTOR = "transistor"
    CONTACT = "contact"
    VIA = "via"
    CROSSING = "crossing"
    CROSSUNDER = "crossunder"
    TAP = "tap"
    RING = "guard ring"
    DIFFUSION = "diffusion"
    POLY = "poly"
    METAL = "metal"
    NOTHING = "nothing"


_STRETCHES = frozenset({Sight.METAL, Sight.POLY, Sight.DIFFUSION, Sight.NOTHING})
_PAST_RING = 5
"""λ from the middle of a ring to where its outside is seen at any scale."""
_PLAIN = {
    Material.METAL: Sight.METAL,
    Material.POLY: Sight.POLY,
    Material.DIFFUSION: Sight.DIFFUSION,
    Material.TAP: Sight.TAP,
    Material.RING: Sight.RING,
}


def sights_at(scene: Scene, x: GridUnits, y: GridUnits) -> frozenset[Sight]:
    """Return all that may truly be told of the point; edges belong to what they bound."""
    sights: set[Sight] = set()
    here = [(scene.materials[name], name, net) for name, net in scene.extraction.nets_at(x, y)]
    here = [wire for wire in here if wire[0] is not Material.WELL]
    below = {name for material, name, _ in here}
    if scene.extraction.transistor_at(x, y) is not None:
        sights.add(Sight.TRANSISTOR)
    joint = next((j for j in scene.joints if j.rect.contains(x, y)), None)
    if joint is not None:
        sights.add(Sight.VIA if joint.material is Material.METAL else Sight.CONTACT)
        if joint.lower in scene.local:
            sights.add(Sight.CONTACT)  # the trade calls a cut down to local wiring either
    elif _buried(scene, below):
        sights.add(Sight.CONTACT)
    for material, name, net in here:
        if material in (Material.TAP, Material.RING):
            piece = _piece_at(scene, name, net, x, y)
            ring = material is Material.RING or (piece is not None and is_ring(piece))
            sights.add(Sight.RING if ring else Sight.TAP)
    crossed = any(rect.contains(x, y) for crossing in scene.crossings for rect in crossing.rects)
    if crossed:
        sights.add(Sight.CROSSING)
    if any(rect.contains(x, y) for piece in scene.crossunders for rect in piece.rects) and joint is None:
        sights.add(Sight.CROSSUNDER)
    if not sights:
        sights.update(_PLAIN[material] for material, _, _ in here)
    return frozenset(sights or {Sight.NOTHING})


def is_ring(piece: Piece) -> bool:
    """Tell whether a piece closes round something: it lies along all four sides of its box and leaves a hole."""
    box = bounding_box(piece.rects)
    assert box is not None
    if sum(r.area for r in piece.rects) >= box.area:
        return False
    sides = (
        ([(r.x0, r.x1) for r in piece.rects if r.y0 == box.y0], box.x0, box.x1),
        ([(r.x0, r.x1) for r in piece.rects if r.y1 == box.y1], box.x0, box.x1),
        ([(r.y0, r.y1) for r in piece.rects if r.x0 == box.x0], box.y0, box.y1),
        ([(r.y0, r.y1) for r in piece.rects if r.x1 == box.x1], box.y0, box.y1),
    )
    return all(_full(runs, low, high) for runs, low, high in sides)


def _full(runs: Iterable[tuple[int, int]], low: int, high: int) -> bool:
    at = low
    for start, end in sorted(runs):
        if start > at:
            return False
        at = max(at, end)
    return at >= high


def _buried(scene: Scene, below: set[str]) -> bool:
    return any(
        cut.layer is None
        and scene.materials.get(cut.upper) in (Material.POLY, Material.METAL)
        and cut.upper in below
        and any(name in below for name in cut.lower)
        for cut in scene.process.cuts
    )


def _piece_at(scene: Scene, conductor: str, net: str, x: int, y: int) -> Piece | None:
    for piece in scene.pieces:
        if (piece.conductor, piece.net) == (conductor, net) and any(r.contains(x, y) for r in piece.rects):
            return piece
    return None


def steady(scene: Scene, x: GridUnits, y: GridUnits) -> frozenset[Sight] | None:
    """
    Return the truths at the point if they are the same to every side of it, else None.

    Half a λ is enough beside a device; a plain stretch of wire must be plain for 1 λ.
    """
    truths = sights_at(scene, x, y)
    step = scene.unit if truths <= _STRETCHES else max(1, scene.unit // 2)
    for dx, dy in ((-step, 0), (step, 0), (0, -step), (0, step)):
        if sights_at(scene, x + dx, y + dy) != truths:
            return None
    return truths


def candidates(scene: Scene, sight: Sight, dice: Dice) -> Iterator[tuple[int, int]]:
    """Yield points where `sight` is likely to be told, in random order."""
    if sight is Sight.NOTHING:
        box = scene.box
        for _ in range(60 if box else 0):
            assert box is not None
            yield dice.between(box.x0, box.x1), dice.between(box.y0, box.y1)
        return
    rects = list(_rects(scene, sight))
    rects = dice.shuffled(rects)
    for rect in rects[:24]:
        yield rect.centre
        if max(rect.width, rect.height) > 4 * scene.unit:
            margin = scene.unit
            x0, x1 = min(rect.x0 + margin, rect.centre[0]), max(rect.x1 - margin, rect.centre[0])
            y0, y1 = min(rect.y0 + margin, rect.centre[1]), max(rect.y1 - margin, rect.centre[1])
            yield dice.between(x0, x1), dice.between(y0, y1)


def _runs_on(scene: Scene, crossing: Crossing, rect: Rect) -> bool:
    """Tell whether both wires are seen on either side of a ring round where they cross: a stub would hide in it."""
    (x, y), unit = rect.centre, scene.unit
    across, up = (max(_PAST_RING * unit, size // 2 + 2 * unit) for size in (rect.width, rect.height))

    def runs(wire: Wire, at: tuple[tuple[int, int], ...]) -> bool:
        return all((wire.net, wire.conductor) in {(w.net, w.conductor) for w in scene.wires_at(*place)} for place in at)

    ways = (((x - across, y), (x + across, y)), ((x, y - up), (x, y + up)))
    return all(any(runs(wire, way) for way in ways) for wire in (crossing.upper, crossing.lower))


def _rects(scene: Scene, sight: Sight) -> Sequence[Rect]:
    if sight is Sight.TRANSISTOR:
        return [rect for rects in scene.channels.values() for rect in rects]
    if sight in (Sight.CONTACT, Sight.VIA):
        metal = sight is Sight.VIA
        return [j.rect for j in scene.joints if (j.material is Material.METAL) == metal]
    if sight is Sight.CROSSING:
        clean = [crossing for crossing in scene.crossings if crossing.clean]
        return [rect for crossing in clean for rect in crossing.rects if _runs_on(scene, crossing, rect)]
    if sight is Sight.CROSSUNDER:
        return [rect for piece in scene.crossunders for rect in piece.rects]
    if sight in (Sight.TAP, Sight.RING):
        return [
            rect
            for piece in scene.pieces
            if piece.material in (Material.TAP, Material.RING)
            and (is_ring(piece) or piece.material is Material.RING) == (sight is Sight.RING)
            for rect in piece.rects
        ]
    wanted = next(material for material, plain in _PLAIN.items() if plain is sight)
    return [wire.rect for wire in scene.wires if wire.material is wanted]
