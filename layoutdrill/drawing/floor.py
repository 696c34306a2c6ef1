"""Give every diffusion and gate of an ordered row pair its column."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

from layoutdrill.drawing.ordering import broken
from layoutdrill.drawing.pairing import Device, Slot


@dataclass(slots=True)
class Region:
    """A stretch of source or drain: its net, its row, and the columns in which metal may reach it."""

    net: int
    row: int
    columns: list[int]


@dataclass(slots=True)
class Gate:
    """A device's gate and its column."""

    device: Device
    column: int


@dataclass(slots=True)
class Stand:
    """A standing load: its device, its column, its output end (`inner`) and its end by the rail (`outer`)."""

    device: Device
    column: int
    inner: Region
    outer: Region


@dataclass(slots=True)
class Strip:
    """An unbroken diffusion: regions and gates by turns, from left to right."""

    row: int
    items: list[Region | Gate] = field(default_factory=list)

    @property
    def regions(self) -> list[Region]:
        return [item for item in self.items if isinstance(item, Region)]

    @property
    def gates(self) -> list[Gate]:
        return [item for item in self.items if isinstance(item, Gate)]


@dataclass(slots=True)
class Floor:
    """`columns` in all; `left` and `right` of them are margins with no diffusion."""

    columns: int
    left: int
    right: int
    strips: list[Strip]
    stands: list[Stand] = field(default_factory=list)


def lay_out(slots: Sequence[Slot], left: int, right: int, supplies: tuple[int, int] = (-1, -1)) -> Floor:
    """
    Number the columns: sources and drains alternate with gates; where a row breaks, both rows get one column more
    and the unbroken one runs its diffusion through.
    """
    bounds: list[tuple[int, int]] = [(left, left)]
    for a, b in itertools.pairwise(slots):
        at = bounds[-1][1] + 2
        bounds.append((at, at + 1 if _breaks(a, b) else at))
    end = bounds[-1][1] + 2
    bounds.append((end, end))
    strips = [strip for row in (0, 1) for strip in _strips(slots, bounds, row)]
    stands = [
        Stand(device, bound[1] + 1, *(Region(net, row, [bound[1] + 1]) for net in (device.left, supplies[row])))
        for slot, bound in zip(slots, bounds, strict=False)
        for row, device in enumerate(slot)
        if device is not None and device.stands
    ]
    return Floor(end + 1 + right, left, right, strips, stands)


def _breaks(a: Slot, b: Slot) -> bool:
    return any(broken(p, q) for p, q in zip(a, b, strict=True))


def _strips(slots: Sequence[Slot], bounds: list[tuple[int, int]], row: int) -> list[Strip]:
    strips: list[Strip] = []
    region: Region | None = None
    for i, slot in enumerate(slots):
        device = slot[row]
        _before, after = bounds[i]
        if device is not None and device.stands:
            region = None
            continue
        if device is None:
            follows = next((later[row] for later in slots[i + 1 :] if later[row] is not None), None)
            if region is not None and follows is not None and not follows.stands and follows.left == region.net:
                region.columns += [c for c in (after, after + 1, bounds[i + 1][0]) if c not in region.columns]
            else:
                region = None
            continue
        if region is None or region.net != device.left:
            region = Region(device.left, row, [after])
            strips.append(Strip(row, [region]))
        elif after not in region.columns:
            region.columns.append(after)
        gate = Gate(device, after + 1)
        region = Region(device.right, row, [bounds[i + 1][0]])
        strips[-1].items += [gate, region]
    return strips
