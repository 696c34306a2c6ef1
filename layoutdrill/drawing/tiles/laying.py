"""Lay out the tiles of an array before their wires are routed: one style for all, columns for every transistor."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import Job, job_of
from layoutdrill.drawing.row_pairs.placing.choices import Choices, choose
from layoutdrill.drawing.row_pairs.placing.cuts import SINGLE
from layoutdrill.drawing.row_pairs.placing.devices import Slot
from layoutdrill.drawing.row_pairs.placing.floor import Floor, arranged, lay_out
from layoutdrill.drawing.row_pairs.placing.ordering import turned
from layoutdrill.drawing.row_pairs.routing.grid import Rows, rows_of
from layoutdrill.drawing.shared import Drawn, Request
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.drawing.tiles.plan import Kind, Plan
from layoutdrill.value import value


@value
class Laid:
    """A kind of tile before its wires are routed: its columns, its job, the sizes it will have."""

    kind: Kind
    floor: Floor
    job: Job
    sizes: Drawn

    @property
    def heights(self) -> dict[str, int]:
        """Return, for each net, how many percent of what it has to reach lies in the upper row of transistors."""
        reached: dict[int, list[int]] = {}
        for strip in self.floor.strips:
            for net in (*(gate.device.gate for gate in strip.gates), *(region.net for region in strip.regions)):
                reached.setdefault(net, []).append(100 * strip.row)
        nets = self.job.nets.items()
        return {net: sum(own) // len(own) if (own := reached.get(number)) else 50 for net, number in nets}


@value
class Task:
    """Tiles to be drawn: how they lie, the job of each kind, and the choices for all."""

    plan: Plan
    jobs: Mapping[str, Job]
    technique: Technique
    choices: Choices
    dice: Dice


def task_of(asked: Request, plan: Plan, technique: Technique, dice: Dice) -> Task:
    """Choose for all kinds of tiles alike."""
    jobs = {name: job_of(kind.netlist, asked.process, technique) for name, kind in plan.kinds.items()}
    choices = choose([*jobs.values()], dice, asked.percent, asked.attempt)
    return Task(plan, jobs, technique, replace(choices, levelled=False, cuts=SINGLE), dice)


def lay(task: Task, kind: Kind) -> Laid:
    """Pair and order the transistors of a kind of tile, those at the wire that comes from the left on the left."""
    job = task.jobs[kind.name]
    fingers = {t.name: t.fingers for t in job.netlist.transistors if t.fingers > 1}
    choices = replace(task.choices, fingers=fingers)
    left, right = ([job.nets[port] for port in kind.ports[side]] for side in ("left", "right"))
    slots = _facing(arranged(job, choices, task.dice), left, right)
    return Laid(kind, lay_out(slots, choices.margins, job.supply_nets), job, choices.drawn(job))


def lay_all(task: Task) -> dict[str, Laid]:
    """Lay out all kinds of tiles; a folded one like the tile that it is."""
    laid: dict[str, Laid] = {}
    for name, kind in task.plan.kinds.items():
        laid[name] = replace(laid[kind.netlist.name], kind=kind) if kind.folded else lay(task, kind)
    return laid


def _facing(slots: list[Slot], left: Sequence[int], right: Sequence[int]) -> list[Slot]:
    """Turn an order round where the nets from the left lie further right than those that leave there."""
    here, there = ([net for net in own if net not in other] for own, other in ((left, right), (right, left)))
    devices = [(at, device) for at, slot in enumerate(slots) for device in slot if device is not None]
    first, last = (
        [at for at, device in devices if not {device.gate, device.left, device.right}.isdisjoint(own)]
        for own in (here, there)
    )
    if not first or not last or sum(first) * len(last) <= sum(last) * len(first):
        return slots
    return [(turned(low), turned(high)) for low, high in reversed(slots)]


def rows_for(task: Task, laid: Mapping[str, Laid]) -> Rows:
    """Return the rows of the routing grid, which all kinds have in common."""
    columns = max(tile.floor.columns for tile in laid.values())
    wires = len(task.plan.level) + (2 if task.technique.rings else 0)
    return rows_of(task.technique, task.choices, columns, wires, task.dice)
