"""
The fingers that a pair of rows is made of, and the forms of their channels.

A long, narrow channel is folded below one plate of gate, so that it comes out at exactly the length that is asked for.
Corners are square, and the length of a folded channel is its area over its width, as it is measured (common practice
counts a corner square as about half; the convention changes no ratio here, as what is asked is told the same way).
"""

from collections.abc import Mapping, Sequence
from enum import Enum

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.shared import Size
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.process.terms import Mode
from layoutdrill.units import GridUnits
from layoutdrill.value import value

Box = tuple[int, int, int, int]
"""Along the current from the plate's first edge, from and to; across it, from and to."""
_HIGHEST = 40
"""How high a device row may grow for a fold, in grid units."""
_FARTHEST = 16
"""How far a standing load may reach to one side."""


@value
class Fold:
    """
    Boxes that make up a folded channel; how long its plate is, between the two edges of the channel, and how high
    the fold. An `upright` fold begins and ends at 0 across, and reaches to either side; any other begins at 0.
    """

    plate: int
    height: GridUnits
    boxes: tuple[Box, ...]
    upright: bool = False

    @property
    def sides(self) -> tuple[int, int]:
        """Return how far the fold reaches across the current, from and to."""
        return min(low for _, _, low, _ in self.boxes), max(high for _, _, _, high in self.boxes)

    def grown(self, ends: int, sides: int) -> tuple[Box, ...]:
        """Return the boxes, longer by `ends` where the channel enters and leaves, and wider by `sides`."""
        return tuple(
            (a - (sides if a else ends), b + (sides if b < self.plate else ends), c - sides, d + sides)
            for a, b, c, d in self.boxes
        )


def fold(length: GridUnits, width: GridUnits, t: Technique, *, upright: bool, dice: Dice) -> Fold | None:
    """Return a fold of a channel in grid units, or None where none is worth its while or comes out exactly."""
    gap, edge, least = t.diffusion_spacing, max(t.channel, t.gate_past), t.channel
    if width % 2 or length % 2:
        return None
    folds: list[Fold | None]
    if upright:
        standing = _standing(length, width, gap, edge)
        folds = [standing, _hairpin(length, width, gap, edge, least, side=dice.pick((-1, 1)))]
    else:
        folds = [_level(length, width, gap, edge, least, legs) for legs in (3, 5)]
        folds += [_steep(length, width, gap, edge, least, legs) for legs in (2, 3, 4)]
    worth = [f for f in folds if f is not None and 4 * f.plate <= 3 * length and f.height <= _HIGHEST]
    return dice.pick(worth) if worth else None


def _level(length: int, w: int, gap: int, edge: int, least: int, legs: int) -> Fold | None:
    """Fold along the current: an odd number of legs above one another, turning inside the plate."""
    turns = legs - 1
    for more in range(2 * legs):
        spare = edge * turns + more
        plate, rest = divmod(length + 2 * spare - turns * gap, legs)
        if rest or plate % 2:
            continue
        insets = [edge + more // turns + (i < more % turns) for i in range(turns)]
        boxes: list[Box] = []
        for leg in range(legs):
            before, after = [0, *insets, 0][leg : leg + 2]
            a, b = (before, plate - after) if leg % 2 == 0 else (after, plate - before)
            low = leg * (w + gap)
            if leg < turns:
                turn = (b - w, b) if leg % 2 == 0 else (a, a + w)
                boxes.append((*turn, low + w, low + w + gap))
            boxes.append((a, b, low, low + w))
        if all(b - a >= w + least for a, b, c, d in boxes if d - c == w and b - a != w):
            return Fold(plate, legs * w + turns * gap, tuple(boxes))
    return None


def _steep(length: int, w: int, gap: int, edge: int, least: int, legs: int) -> Fold | None:
    """Fold across the current: legs beside one another, joined above and below by turns."""
    for more in range(2 * legs):
        spare = 2 * edge + more
        high, rest = divmod(length - spare - (legs - 1) * gap, legs)
        plate = spare + legs * w + (legs - 1) * gap
        if not (rest or plate % 2 or high < w + least):
            low = 0 if legs % 2 == 0 else high - w
            return Fold(plate, high, _legs(edge + more // 2, w, gap, [(0, high)] * legs, (plate, low)))
    return None


def _standing(length: int, w: int, gap: int, edge: int) -> Fold | None:
    """Fold a channel that stands, to both sides of its middle line, on which it begins and ends."""
    reach, more = divmod(length - w - 2 * gap - 2 * edge, 4)
    half = w // 2
    if reach < half + edge or w % 2:
        return None
    plate = 2 * edge + more + 3 * w + 2 * gap
    legs = [(-half, reach), (-reach, reach), (-reach, half)]
    return Fold(plate, 2 * reach, _legs(edge + more // 2, w, gap, legs, (plate, -half)), upright=True)


def _hairpin(length: int, w: int, gap: int, edge: int, least: int, *, side: int) -> Fold | None:
    """Fold a channel that stands out to one side and back to its middle line."""
    reach, more = divmod(length - w - gap - 2 * edge, 2)
    half = w // 2
    if reach < half + least or reach > _FARTHEST or w % 2:
        return None
    plate = 2 * edge + more + 2 * w + gap
    boxes = _legs(edge, w, gap, [(-half, reach)] * 2, (plate, -half))
    if side < 0:
        boxes = tuple((a, b, -high, -low) for a, b, low, high in boxes)
    return Fold(plate, reach + half, boxes, upright=True)


def _legs(start: int, w: int, gap: int, legs: Sequence[tuple[int, int]], end: tuple[int, int]) -> tuple[Box, ...]:
    """
    Return the boxes of legs across the current, from where to where each reaches, joined above and below by turns.

    The channel enters at the foot of the first leg, which begins at `start`; `end` is where it leaves, and how high.
    """
    boxes: list[Box] = [(0, start, legs[0][0], legs[0][0] + w)]
    a = start
    for number, (low, high) in enumerate(legs):
        boxes.append((a, a + w, low, high))
        if number < len(legs) - 1:
            boxes.append((a + w, a + w + gap, *((high - w, high) if number % 2 == 0 else (low, low + w))))
            a += w + gap
    return (*boxes, (a + w, end[0], end[1], end[1] + w))


class Form(Enum):
    """How a channel runs: straight across its diffusion, closed, round a drain or a corner, stepping aside, folded."""

    STRAIGHT = "straight"
    RING = "ring"
    HOOK = "hook"
    ELBOW = "elbow"
    STEP = "step"
    SNAKE = "snake"

    @property
    def encloses(self) -> bool:
        """Tell whether the form takes two gate columns, with a drain between them."""
        return self in (Form.RING, Form.HOOK)


@value
class Channel:
    """
    The form of a channel: the net `inner` that a ring or hook goes round; on which side the gate leaves a ring, or
    an elbow turns; whether the far source is `tied` by its diffusion only; how far to the right (or left, below 0)
    a `step` goes, towards the rail; the `fold` of a snake.
    """

    form: Form = Form.STRAIGHT
    inner: str = ""
    far: bool = False
    tied: bool = False
    step: int = 0
    fold: Fold | None = None


STRAIGHT = Channel()


@value
class Device:
    """
    One finger to draw: `row` 0 is the bottom row, nets are numbers, `name` the transistor it belongs to.

    A load that stands between its rail and its output shares no diffusion: both its ends are then given as the output.
    Of a form that encloses its drain both ends are the outer net, and `inner` the other.
    """

    name: str
    row: int
    gate: int
    left: int
    right: int
    size: Size = Size(0, 0)
    depletion: bool = False
    channel: Channel = STRAIGHT
    inner: int = -1

    @property
    def form(self) -> Form:
        return self.channel.form

    @property
    def fold(self) -> Fold | None:
        return self.channel.fold

    @property
    def stands(self) -> bool:
        return bool(self.size.output)


Slot = tuple[Device | None, Device | None]
"""What stands above one another in a column: the bottom row's device and the top row's."""


def split(job: Job, fingers: Mapping[str, int], channels: Mapping[str, Channel]) -> list[Device]:
    """Return the fingers to draw; `fingers` and `channels` are by transistor name."""
    nets = job.nets
    devices = []
    for t in job.netlist.transistors:
        size, channel = job.sizes[t.name], channels.get(t.name, STRAIGHT)
        ends = nets[t.source], nets[t.drain]
        if size.output:
            ends = (nets[size.output],) * 2
        elif channel.form.encloses:
            ends = (nets[t.source if channel.inner == t.drain else t.drain],) * 2
        inner = nets[channel.inner] if channel.form.encloses else -1
        depletion = t.mode is Mode.DEPLETION
        device = Device(t.name, job.rows[t.name], nets[t.gate], *ends, size, depletion, channel, inner)
        devices += [device] * fingers.get(t.name, 1)
    return devices
