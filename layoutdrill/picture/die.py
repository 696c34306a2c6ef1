"""
A die: what masks and machines made of a layout.

Each mask was laid on the wafer a little out of line, by a vector and a turn of its own; lines came out a little wider
or narrower, corners round, contacts uneven. One layout gives many dies. The picture is made from these displaced
shapes; the key of every question comes from the layout, so `checked` refuses a die on which other things touch.

Displacements of 0.1 to 0.4 λ and a bias of up to 0.1 λ a side are common practice: rules keep masks a whole λ apart so
that half of it may go wrong.
"""

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, lru_cache
from hashlib import blake2b

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract.run import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.compare import compare
from layoutdrill.picture.layers import flat, layout_digest
from layoutdrill.process import Process
from layoutdrill.process.films import mask_names
from layoutdrill.value import value

Box = tuple[float, float, float, float]

FINE = 20
"""Parts of a grid unit in which a displaced layout is checked."""
SHIFT, WORN_SHIFT = 0.12, 0.28
"""λ: how far a mask lies out of line at most on a good die, and how much further on the worst."""
TURN = 0.12
"""λ that a turned mask is out of line by at the die's edge, more than in its middle."""
BIAS = 0.05
"""λ a side by which lines of a mask come out wider or narrower at most; twice that on the worst die."""
ROUND, WORN_ROUND = 0.35, 0.25
"""λ: the radius of corners on a good die, and what the worst adds."""
UNEVEN = 0.10
"""λ by which the side of a contact differs from its neighbour's on a good die; three times that on the worst."""
TRIES = 4


@value
class Die:
    """
    How the masks of one die lie. `shifts` are in grid units, x and y for each mask layer; `turns` in radians about
    `middle`; `bias` in grid units a side; `rounding` is the radius of corners in λ, `uneven` the most that a cut's side
    differs (grid units); `number` is the die's.
    """

    shifts: Mapping[str, tuple[float, float]]
    turns: Mapping[str, float]
    middle: tuple[float, float]
    bias: Mapping[str, float]
    rounding: float
    uneven: float
    number: int
    cuts: frozenset[str]

    def shift(self, layer: str, x: float, y: float) -> tuple[float, float]:
        """Return by how much (grid units) a point of a mask layer lies out of line."""
        dx, dy = self.shifts.get(layer, (0.0, 0.0))
        turn = self.turns.get(layer, 0.0)
        return dx - turn * (y - self.middle[1]), dy + turn * (x - self.middle[0])

    def moved(self, layer: str, rect: Rect) -> Box:
        """Return where a rectangle of a mask layer lies on this die, in grid units."""
        x0, y0, x1, y1 = rect
        dx, dy = self.shift(layer, (x0 + x1) / 2, (y0 + y1) / 2)
        wider = self.bias.get(layer, 0.0)
        if layer in self.cuts and self.uneven:
            wider += self.uneven * (_scatter(self.number, x0, y0) - 0.5)
        return x0 + dx - wider, y0 + dy - wider, x1 + dx + wider, y1 + dy + wider

    def seen_at(self, layout: Layout, process: Process, x: float, y: float) -> tuple[float, float]:
        """Return where on this die one sees what the layout has at a point: the topmost shape there decides."""
        layer = _topmost(layout, process, x, y)
        if layer is None:
            return x, y
        dx, dy = self.shift(layer, x, y)
        return x + dx, y + dy

    def meant_at(self, layout: Layout, process: Process, x: float, y: float) -> tuple[float, float]:
        """Return the point of the layout that is meant by one seen on this die."""
        for layer in _downwards(process):
            dx, dy = self.shift(layer, x, y)
            at = x - dx, y - dy
            if any(r.x0 <= at[0] <= r.x1 and r.y0 <= at[1] <= r.y1 for r in flat(layout).shapes.get(layer, ())):
                return at
        return x, y


PERFECT = Die({}, {}, (0.0, 0.0), {}, 0.0, 0.0, 0, frozenset())
"""A die that is exactly its layout."""

_KEPT_DIES: "OrderedDict[tuple[object, ...], Die]" = OrderedDict()


def die_of(layout: Layout, process: Process, number: int, wear: float) -> Die:
    """
    Return a die of a layout: the same number and wear give the same one; the last few are kept.

    A die on which a displacement would change what is connected is made again with half the displacement. Where masks
    move by less than the least figure of any rule, nothing can meet or part that did not, and none need be read.
    """
    key = (layout_digest(layout), process.name, number, round(wear, 2))
    known = _KEPT_DIES.get(key)
    if known is None:
        known = _KEPT_DIES[key] = _made(layout, process, number, wear)
        if len(_KEPT_DIES) > 64:
            _KEPT_DIES.popitem(last=False)
    return known


def _made(layout: Layout, process: Process, number: int, wear: float) -> Die:
    share = 1.0
    for _ in range(TRIES):
        die = drawn_die(layout, process, number, wear, share)
        if layout.shapes and farthest(die) >= least_figure(process):
            try:
                checked(layout, process, die)
            except LayoutdrillError:
                share /= 2
                continue
        return die
    return replace(PERFECT, number=number)


def drawn_die(layout: Layout, process: Process, number: int, wear: float, share: float) -> Die:
    """Draw a die's numbers from its own; the lowest mask is what the others are laid out of line with."""
    unit = process.grid_per_lambda
    box = layout.box or Rect(0, 0, unit, unit)
    half = max(box.width, box.height, unit) / 2
    reach = share * (SHIFT + WORN_SHIFT * wear) * unit
    shifts, turns, bias = {}, {}, {}
    names = [name for name, layer in process.layers.items() if layer.role not in ("text", "glass-opening")]
    for i, name in enumerate(names):
        x, y, turn, wider = (2 * part - 1 for part in _parts(number, name))
        shifts[name] = (reach * x, reach * y) if i else (0.0, 0.0)
        turns[name] = share * TURN * (0.3 + 0.7 * wear) * unit * turn / half if i else 0.0
        bias[name] = BIAS * (1 + wear) * unit * wider if process.layers[name].role != "well" else 0.0
    cuts = frozenset(name for name in names if process.layers[name].role in ("contact", "via"))
    uneven = UNEVEN * (1 + 2 * wear) * unit
    return Die(shifts, turns, box.centre, bias, ROUND + WORN_ROUND * wear, uneven, number, cuts)


def farthest(die: Die) -> float:
    """Return how far (grid units) edges of two masks can have come towards each other at most, or apart."""
    shifts = [max(abs(x), abs(y)) for x, y in die.shifts.values()]
    half = max((abs(turn) for turn in die.turns.values()), default=0.0) * max(*die.middle, 1.0)
    wider = max((abs(bias) for bias in die.bias.values()), default=0.0)
    return 2 * (max(shifts, default=0.0) + half + wider)


def least_figure(process: Process) -> float:
    """Return the least distance (grid units) that any rule keeps between two masks; 0 where no rules are stated."""
    return min((rule.value for rule in process.rules.values() if rule.value), default=0)


def _parts(number: int, name: str) -> tuple[float, float, float, float]:
    """Return four fractions that hang on a die's number and a mask's name."""
    data = blake2b(f"die {number} {name}".encode(), digest_size=8).digest()
    a, b, c, d = (int.from_bytes(data[i : i + 2], "big") / 65535 for i in (0, 2, 4, 6))
    return a, b, c, d


def _scatter(number: int, x: int, y: int) -> float:
    """Return a fraction that hangs on a place."""
    mixed = (x * 73856093 ^ y * 19349663 ^ number * 83492791) & 0xFFFFFFFF
    mixed = (mixed ^ mixed >> 15) * 0x2C1B3C6D & 0xFFFFFFFF
    return (mixed >> 8 & 0xFFFF) / 65535


_BY_ROLE = ("poly", "thin-oxide", "metal", "active", "n-doping", "p-doping", "well")


@lru_cache(maxsize=512)
def mask_of(process: Process, name: str, *, channel: bool = False) -> str | None:
    """Return the mask layer whose edges one sees of a region: of a `channel` its gate's, else the doping's."""
    if name in process.layers:
        return name
    if name not in process.regions:
        return None
    masks = dict.fromkeys(mask_names(process, process.regions[name]))
    roles = _BY_ROLE if channel else (*_BY_ROLE[3:6], *_BY_ROLE[:3], _BY_ROLE[6])
    for role in roles:
        for mask in masks:
            if process.layers[mask].role == role:
                return mask
    return None


def displaced(layout: Layout, die: Die) -> Layout:
    """Return the layout as this die has it, in parts of FINE of a grid unit; labels move with their layers."""

    def box(layer: str, rect: Rect) -> Rect:
        dx, dy = die.shift(layer, (rect.x0 + rect.x1) / 2, (rect.y0 + rect.y1) / 2)
        wider = max(0.0, die.bias.get(layer, 0.0))
        edges = (rect.x0 + dx - wider, rect.y0 + dy - wider, rect.x1 + dx + wider, rect.y1 + dy + wider)
        return Rect(*(round(FINE * edge) for edge in edges))

    whole = flat(layout)
    labels = []
    for label in whole.labels:
        dx, dy = die.shift(label.layer, label.x, label.y)
        labels.append(Label(label.text, label.layer, round(FINE * (label.x + dx)), round(FINE * (label.y + dy))))
    shapes = {layer: tuple(box(layer, rect) for rect in rects) for layer, rects in whole.shapes.items()}
    return Layout(whole.name, shapes, tuple(labels))


@cache
def without_forms(process: Process) -> Process:
    """
    Return a process in which a strip or patch is silicon and no more: their sizes are told in whole grid units, and
    displaced shapes are told in finer ones.
    """
    return replace(process, strips=(), patches=())


def checked(layout: Layout, process: Process, die: Die) -> None:
    """
    Read the displaced shapes and the layout, and compare; raise LayoutdrillError where they differ.

    Shapes are displaced whole, and widened where their mask is biased so: what touches that should not is found, and
    what has come apart; sizes are not. A bias that narrows is smaller than any rule's half and not looked at.
    """
    wired = without_forms(process)
    want, got = extract(layout, wired).netlist, extract(displaced(layout, die), wired).netlist
    result = compare(want, got)
    if not result.equal:
        raise LayoutdrillError(
            f"die {die.number} of {layout.name} would be wired otherwise: {result.text().splitlines()[0]}",
            todo="displace its masks less",
        )


def _downwards(process: Process) -> list[str]:
    """Return the mask layers that one sees shapes of, from the topmost."""
    return [name for name, layer in reversed(tuple(process.layers.items())) if layer.role not in _UNSEEN]


_UNSEEN = ("contact", "via", "implant", "well", "glass-opening", "text")


def _topmost(layout: Layout, process: Process, x: float, y: float) -> str | None:
    shapes = flat(layout).shapes
    for layer in _downwards(process):
        if any(r.x0 <= x <= r.x1 and r.y0 <= y <= r.y1 for r in shapes.get(layer, ())):
            return layer
    return None
