"""Pair n with p transistors into the slots of a row, and split wide ones into fingers."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.placing.folding import Fold
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.terms import Mode


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


@dataclass(frozen=True, slots=True)
class Wish:
    """
    A form for a transistor: the net `inner` that a ring or hook goes round; on which side the gate leaves a ring, or
    an elbow turns; whether the far source is `tied` by its diffusion only; how far to the right (or left, below 0)
    a `step` goes, towards the rail; the `fold` of a snake.
    """

    form: Form
    inner: str = ""
    far: bool = False
    tied: bool = False
    step: int = 0
    fold: Fold | None = None


@dataclass(frozen=True, slots=True)
class Device:
    """
    One finger to draw: `row` 0 is the bottom row, nets are numbers, `name` the transistor it belongs to.

    `length` and `width` of the channel in grid units, 0 for the usual ones. A load that `stands` between its rail and
    its output shares no diffusion: both its ends are then given as the output. Of a form that `encloses` both ends
    are the outer net, and `inner` the other. For `far`, `tied` and `step` see Wish.
    """

    name: str
    row: int
    gate: int
    left: int
    right: int
    length: int = 0
    width: int = 0
    depletion: bool = False
    stands: bool = False
    form: Form = Form.STRAIGHT
    inner: int = -1
    far: bool = False
    tied: bool = False
    step: int = 0
    fold: Fold | None = None


_STRAIGHT = Wish(Form.STRAIGHT)

Slot = tuple[Device | None, Device | None]
"""What stands above one another in a column: the bottom row's device and the top row's."""


def number_nets(netlist: Netlist) -> dict[str, int]:
    return {net: number for number, net in enumerate(netlist.nets)}


def split(netlist: Netlist, rows: Mapping[str, int], fingers: Mapping[str, int], nets: Mapping[str, int],
          sizes: Mapping[str, Size] = MappingProxyType({}),
          wishes: Mapping[str, Wish] = MappingProxyType({})) -> list[Device]:  # fmt: skip
    """Return the fingers to draw; `rows`, `fingers`, `sizes` and `wishes` are by transistor name."""
    found = []
    for t in netlist.transistors:
        size = sizes.get(t.name, Size(0, 0))
        ends = nets[t.source], nets[t.drain]
        if size.output:
            ends = nets[size.output], nets[size.output]
        wish = wishes.get(t.name, _STRAIGHT)
        inner = nets[wish.inner] if wish.form.encloses else -1
        if wish.form.encloses:
            outer = nets[t.source if wish.inner == t.drain else t.drain]
            ends = outer, outer
        device = Device(
            t.name, rows[t.name], nets[t.gate], *ends, size.length, size.width, t.mode is Mode.DEPLETION,
            stands=bool(size.output), form=wish.form, inner=inner, far=wish.far, tied=wish.tied,
            step=wish.step, fold=wish.fold,
        )  # fmt: skip
        found += [device] * fingers.get(t.name, 1)
    return found


def pair(devices: list[Device], dice: Dice, supplies: tuple[int, int]) -> list[Slot]:
    """
    Pair by same gate, then same source and drain (transmission gates), then a shared net.

    Among equals the dice decide. A device left over takes a slot alone.
    """
    low = dice.shuffled([d for d in devices if d.row == 0])
    high = dice.shuffled([d for d in devices if d.row == 1])
    slots: list[Slot] = []
    for rank in (_same_gate, _same_ends, _shared_net):
        candidates = []
        for i, n in enumerate(low):
            for j, p in enumerate(high):
                worth = rank(n, p, supplies)
                if worth:
                    candidates.append((-worth, i, j))
        candidates.sort()
        gone_low: set[int] = set()
        gone_high: set[int] = set()
        for _, i, j in candidates:
            if i not in gone_low and j not in gone_high:
                gone_low.add(i)
                gone_high.add(j)
                slots.append((low[i], high[j]))
        low = [d for i, d in enumerate(low) if i not in gone_low]
        high = [d for j, d in enumerate(high) if j not in gone_high]
    slots.extend((d, None) for d in low)
    slots.extend((None, d) for d in high)
    return slots


def _common(n: Device, p: Device, supplies: tuple[int, int]) -> int:
    shared = Counter((n.left, n.right)) & Counter((p.left, p.right))
    return sum(count for net, count in shared.items() if net not in supplies)


def _same_gate(n: Device, p: Device, supplies: tuple[int, int]) -> int:
    return 1 + _common(n, p, supplies) if n.gate == p.gate and not (n.stands or p.stands) else 0


def _same_ends(n: Device, p: Device, supplies: tuple[int, int]) -> int:
    return (
        1
        if not (n.stands or p.stands)
        and sorted((n.left, n.right)) == sorted((p.left, p.right))
        and _common(n, p, supplies)
        else 0
    )


def _shared_net(n: Device, p: Device, supplies: tuple[int, int]) -> int:
    return _common(n, p, supplies)
