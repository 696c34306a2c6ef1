"""The fingers that a pair of rows is made of, and the forms of their channels."""

from collections.abc import Mapping
from enum import Enum

from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.row_pairs.placing.folding import Fold
from layoutdrill.drawing.shared import Size
from layoutdrill.process.terms import Mode
from layoutdrill.value import value


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
