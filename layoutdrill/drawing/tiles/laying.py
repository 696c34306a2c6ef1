"""Lay out the tiles of an array before their wires are routed: one style for all, columns for every transistor."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.placing.choices import Style, choose
from layoutdrill.drawing.row_pairs.placing.floor import Floor, lay_out
from layoutdrill.drawing.row_pairs.placing.ordering import order, turned
from layoutdrill.drawing.row_pairs.placing.pairing import Slot, number_nets, pair, split
from layoutdrill.drawing.row_pairs.routing.grid import Rows
from layoutdrill.drawing.shared.sizes import Drawn, drawn_sizes, least_heights, sizes_of
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.drawing.tiles.plan import Kind, Plan
from layoutdrill.process.model import Process


@dataclass(frozen=True, slots=True)
class Laid:
    """A kind of tile before its wires are routed: its columns, its nets by number, the sizes it will have."""

    kind: Kind
    floor: Floor
    nets: Mapping[str, int]
    supplies: tuple[int, int]
    sizes: Drawn

    @property
    def heights(self) -> dict[str, int]:
        """Return, for each net, how many percent of what it has to reach lies in the upper row of transistors."""
        reached: dict[int, list[int]] = {}
        for strip in self.floor.strips:
            for net in (*(gate.device.gate for gate in strip.gates), *(region.net for region in strip.regions)):
                reached.setdefault(net, []).append(100 * strip.row)
        return {net: sum(own) // len(own) if (own := reached.get(number)) else 50 for net, number in self.nets.items()}


def common_style(plan: Plan, technique: Technique, process: Process, dice: Dice, difficulty: int,
                 attempt: int) -> tuple[Style, tuple[bool, bool]]:  # fmt: skip
    """Return one style for all kinds of tiles, and in which device rows loads stand."""
    least, standing = (0, 0), (False, False)
    for kind in plan.kinds.values():
        own = kind.netlist
        rows_of = _rows_of(kind, technique, process)
        low, high = least_heights(own, rows_of, sizes_of(own, process, technique), technique)
        least = max(least[0], low), max(least[1], high)
        stands = {rows_of[t.name] for t in own.transistors if technique.stands(t, process.supplies)}
        standing = standing[0] or 0 in stands, standing[1] or 1 in stands
    largest = max(plan.kinds.values(), key=lambda kind: len(kind.netlist.transistors)).netlist
    style = choose(largest, technique, process.supplies, dice, difficulty, attempt, least, standing)
    return replace(style, levelled=False, stout=0 if technique.rings else style.stout), standing


def _rows_of(kind: Kind, technique: Technique, process: Process) -> dict[str, int]:
    return {t.name: technique.row_of(t, process.supplies) for t in kind.netlist.transistors}


def lay(kind: Kind, technique: Technique, process: Process, style: Style, dice: Dice) -> Laid:
    """Pair and order the transistors of a kind of tile, those at the wire that comes from the left on the left."""
    own = kind.netlist
    rows_of = _rows_of(kind, technique, process)
    sizes = sizes_of(own, process, technique)
    fingers = {t.name: t.fingers for t in own.transistors if t.fingers > 1}
    nets = number_nets(own)
    low, high = process.supplies
    supplies = nets[low], nets[high]
    slots = pair(split(own, rows_of, fingers, nets, sizes), dice, supplies)
    count = len(slots)
    slots = order(slots, dice, style.weights, supplies, min(style.steps, 12 * count * count + 20 * count))
    slots = _facing(slots, [nets[p] for p in kind.ports["left"]], [nets[p] for p in kind.ports["right"]])
    floor = lay_out(slots, *style.margins, supplies)
    return Laid(kind, floor, nets, supplies, drawn_sizes(own, technique, rows_of, sizes, fingers, style.widths))


def lay_all(plan: Plan, technique: Technique, process: Process, style: Style, dice: Dice) -> list[Laid]:
    """Lay out all kinds of tiles; a folded one like the tile that it is."""
    found = {name: lay(kind, technique, process, style, dice) for name, kind in plan.kinds.items() if not kind.folded}
    return [
        replace(found[kind.netlist.name], kind=kind) if kind.folded else found[name]
        for name, kind in plan.kinds.items()
    ]


def _facing(slots: list[Slot], left: Sequence[int], right: Sequence[int]) -> list[Slot]:
    """Turn an order round where the nets from the left lie further right than those that leave there."""
    here, there = ([net for net in own if net not in other] for own, other in ((left, right), (right, left)))
    middles = []
    for own in (here, there):
        places = [
            at
            for at, slot in enumerate(slots)
            for device in slot
            if device is not None and not {device.gate, device.left, device.right}.isdisjoint(own)
        ]
        middles.append((sum(places), len(places)))
    (first, n), (second, m) = middles
    if not n or not m or first * m <= second * n:
        return slots
    return [(turned(low), turned(high)) for low, high in reversed(slots)]


def rows_for(plan: Plan, laid: Sequence[Laid], technique: Technique, style: Style, stands: tuple[bool, bool],
             dice: Dice) -> Rows:  # fmt: skip
    """Return the rows of the routing grid, which all kinds have in common."""
    columns = max(one.floor.columns for one in laid)
    channel = 3 + columns // 6 + style.spare + len(plan.level) + (2 if technique.rings else 0)
    below = style.outer[0] + style.device_rows[0] + 1
    barrier = below + channel // 2 + dice.below(2) * (channel % 2) if technique.rings else 0
    return Rows(style.outer[0], style.device_rows[0], channel, style.device_rows[1], style.outer[1], barrier, stands)
