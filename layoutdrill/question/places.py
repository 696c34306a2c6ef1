"""Places for lettered marks: on a wire, clear of its edges, alone there, and apart from each other."""

from collections.abc import Iterable, Iterator

from layoutdrill.dice import Dice
from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene, Wire
from layoutdrill.geometry.rect import Rect
from layoutdrill.process.model import SUBSTRATE
from layoutdrill.units import GridUnits

LETTERS = "PQRSTUVW"
"""Marks are capitals from the end of the alphabet, so that they are never taken for a choice or a port."""


def apart(at: tuple[int, int], others: Iterable[tuple[int, int]], distance: GridUnits) -> bool:
    """Tell whether a place keeps its distance, in x or in y, from all the others."""
    return all(max(abs(at[0] - x), abs(at[1] - y)) >= distance for x, y in others)


def on_top(scene: Scene, x: GridUnits, y: GridUnits) -> Wire | None:
    """
    Return the wire that a mark at the point would be taken to stand on: the one that is uppermost there.

    None where wires of two nets lie over each other, where there is a channel (it belongs to the gate, but to the eye
    also to the ends), or where there is no wire.
    """
    here = scene.wires_at(x, y)
    if not here or len({w.net for w in here}) > 1 or scene.extraction.transistor_at(x, y) is not None:
        return None
    wells = (name for name, material in scene.materials.items() if material is Material.WELL)
    skipped = {*wells, SUBSTRATE}
    drawn = {net for name, net in scene.extraction.nets_at(x, y) if name not in skipped}  # those of foreign wires too
    return here[0] if len(drawn) == 1 else None


def places_on(scene: Scene, wires: Iterable[Wire], dice: Dice) -> Iterator[tuple[int, int]]:
    """Yield places on the given wires where nothing else can be meant, in random order, large shapes first."""
    chosen = list(wires)
    chosen = dice.shuffled(chosen)
    chosen.sort(key=lambda w: -min(w.rect.width, w.rect.height, 3 * scene.unit))
    for wire in chosen:
        for x, y in _spots(wire.rect, scene.unit, dice):
            if _well_inside(scene, wire, x, y):
                yield x, y


def _well_inside(scene: Scene, wire: Wire, x: int, y: int) -> bool:
    """Tell whether the wire is what lies uppermost at the point and, as far as half a λ, to every side of it."""
    step = max(1, scene.unit // 2)
    for dx, dy in ((0, 0), (-step, 0), (step, 0), (0, -step), (0, step)):
        wire_there = on_top(scene, x + dx, y + dy)
        if wire_there is None or (wire_there.net, wire_there.conductor) != (wire.net, wire.conductor):
            return False
    return True


def _spots(rect: Rect, unit: int, dice: Dice) -> list[tuple[int, int]]:
    margin = max(1, min(unit, rect.width // 2, rect.height // 2))
    cx, cy = rect.centre
    spots = [(cx, cy)]
    if rect.width > 4 * unit:
        spots += [(rect.x0 + margin, cy), (rect.x1 - margin, cy)]
    if rect.height > 4 * unit:
        spots += [(cx, rect.y0 + margin), (cx, rect.y1 - margin)]
    return dice.shuffled(spots)


def visible(wire: Wire) -> bool:
    """Tell whether a wire is one that a picture shows from above: metal, poly, or diffusion."""
    return wire.material in (Material.METAL, Material.POLY, Material.DIFFUSION)
