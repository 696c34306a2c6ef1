"""Give every diffusion and gate of an ordered row pair its column."""

import itertools
from collections.abc import Sequence
from dataclasses import field, replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.row_pairs.placing.devices import STRAIGHT, Device, Fold, Form, Slot, split
from layoutdrill.drawing.row_pairs.placing.ordering import broken, order, pair
from layoutdrill.value import identity, mutable


@mutable
@identity
class Region:
    """
    A stretch of source or drain: its net, its row, and the columns in which metal may reach it. One that is `tied` is
    joined to another region by its own diffusion, so that no metal needs to reach it.
    """

    net: int
    row: int
    columns: list[int]
    tied: bool = False


@mutable
@identity
class Gate:
    """A device's gate and its column; a device that encloses its drain has two."""

    device: Device
    column: int

    @property
    def step(self) -> int:
        return self.device.channel.step


@mutable
@identity
class Stand:
    """A standing load: its device, its column, its output end (`inner`) and its end by the rail (`outer`)."""

    device: Device
    column: int
    inner: Region
    outer: Region

    @property
    def channel(self) -> Fold:
        """Return how the channel runs from the output to the rail; a straight one is a fold of one leg."""
        length, half = self.device.size.length, self.device.size.width // 2
        return self.device.fold or Fold(length, 2 * half, ((0, length, -half, half),), upright=True)


@mutable
@identity
class Strip:
    """An unbroken diffusion: regions from left to right, and a gate between each two."""

    row: int
    regions: list[Region]
    gates: list[Gate] = field(default_factory=list)

    def beside(self, gate: Gate) -> tuple[Region, Region]:
        """Return the regions on the left and on the right of a gate."""
        at = self.gates.index(gate)
        return self.regions[at], self.regions[at + 1]

    def add(self, gate: Gate, region: Region) -> None:
        """Go on to the right: a gate, and the region beyond it."""
        self.gates.append(gate)
        self.regions.append(region)

    @property
    def bent(self) -> list[tuple[Gate, Gate, Region]]:
        """Return the gates that go round a region: the first arm, the last (of an elbow the same), and the region."""
        gates, regions = self.gates, self.regions
        bends: list[tuple[Gate, Gate, Region]] = []
        for at, gate in enumerate(gates):
            if gate.device.form.encloses and (not bends or bends[-1][1] is not gate):
                bends.append((gate, gates[at + 1], regions[at + 1]))
            elif gate.device.form is Form.ELBOW:
                bends.append((gate, gate, regions[at + gate.device.channel.far]))
        return bends


@mutable
class Floor:
    """The strips and the standing loads on so many columns, margins with no diffusion included."""

    columns: int
    strips: list[Strip]
    stands: list[Stand] = field(default_factory=list)


def arranged(job: Job, choices: Choices, dice: Dice) -> list[Slot]:
    """Return what stands above one another, from left to right, in an order that lets neighbours share diffusions."""
    slots = pair(split(job, choices.fingers, choices.channels), dice, job.supply_nets)
    return order(slots, dice, choices.weights, job.supply_nets, choices.steps)


def lay_out(slots: Sequence[Slot], margins: tuple[int, int], supplies: tuple[int, int]) -> Floor:
    """
    Number the columns: sources and drains alternate with gates; where a row breaks, both rows get one column more
    and the unbroken one runs its diffusion through. A device that encloses its drain takes two gate columns; what
    lies opposite it takes one of them.
    """
    left, right = margins
    bounds: list[tuple[int, int]] = [(left, left)]
    for a, b in itertools.pairwise(slots):
        at = bounds[-1][1] + _span(a)
        bounds.append((at, at + any(broken(p, q) for p, q in zip(a, b, strict=True))))
    end = bounds[-1][1] + (_span(slots[-1]) if slots else 2)
    bounds.append((end, end))
    strips = [strip for row in (0, 1) for strip in _strips(slots, bounds, row)]
    stands = [
        Stand(device, bound[1] + 1, *(Region(net, row, [bound[1] + 1]) for net in (device.left, supplies[row])))
        for slot, bound in zip(slots, bounds, strict=False)
        for row, device in enumerate(slot)
        if device is not None and device.stands
    ]
    return Floor(end + 1 + right, strips, stands)


def _span(slot: Slot) -> int:
    """Return how many columns a slot takes, the region on its right included."""
    return 4 if any(device is not None and device.form.encloses for device in slot) else 2


def _strips(slots: Sequence[Slot], bounds: list[tuple[int, int]], row: int) -> list[Strip]:
    strips: list[Strip] = []
    region: Region | None = None
    for i, slot in enumerate(slots):
        device = slot[row]
        after, end = bounds[i][1], bounds[i + 1][0]
        if device is not None and device.stands:
            region = None
            continue
        if device is None:
            follows = next((later[row] for later in slots[i + 1 :] if later[row] is not None), None)
            if region is not None and follows is not None and not follows.stands and follows.left == region.net:
                region.columns += [c for c in range(after, end + 1) if c not in region.columns]
            else:
                region = None
            continue
        if region is None or region.net != device.left:
            region = Region(device.left, row, [after])
            strips.append(Strip(row, [region]))
        elif after not in region.columns:
            region.columns.append(after)
        if device.form.encloses:
            inner = Region(device.inner, row, [after + 2])
            strips[-1].add(Gate(device, after + 1), inner)
            at, region = after + 3, Region(device.right, row, [end], tied=device.channel.tied)
        else:
            other = slot[1 - row]  # a plain gate stands opposite the arm by which an enclosing gate leaves
            far = other is not None and other.form.encloses and other.channel.far
            at = after + 3 if far else after + 1
            region.columns += range(after + 1, at)
            region = Region(device.right, row, list(range(at + 1, end + 1)))
        strips[-1].add(Gate(device, at), region)
    return strips


def keep_bends(floor: Floor, supplies: tuple[int, int], *, crossed: bool) -> None:
    """
    Let elbows turn outwards at either end of their device row, and make straight what finds no place.

    Unless metal can cross gates (`crossed`), an elbow may not go round a supply's end, whose strap it would cut. A
    gate that steps aside is alone in its device row with that, so that no two bends want one contact elsewhere.
    """
    for row in (0, 1):
        strips = [strip for strip in floor.strips if strip.row == row]
        gates = [gate for strip in strips for gate in strip.gates]
        if not gates:
            continue
        first, last = strips[0].regions[0], strips[-1].regions[-1]
        for gate in (gate for gate in gates if gate.device.form is Form.ELBOW):
            right = gate is gates[-1] and (crossed or last.net != supplies[row])
            left = gate is gates[0] and (crossed or first.net != supplies[row])
            if not (right or left):
                straighten(gate)
            else:
                far = right and (gate.device.channel.far or not left)
                gate.device = replace(gate.device, channel=replace(gate.device.channel, far=far))
        bent = [gate for gate in gates if gate.device.form is not Form.STRAIGHT]
        for gate in bent:
            if gate.device.form is Form.STEP and len(bent) > 1:
                straighten(gate)


def straighten(gate: Gate) -> None:
    gate.device = replace(gate.device, channel=STRAIGHT)
