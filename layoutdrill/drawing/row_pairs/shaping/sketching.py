"""Turn a routed grid into a sketch: wires, pads, gates and diffusions, hung on lines that compaction may move."""

import itertools
from collections.abc import Iterable

from layoutdrill.drawing.row_pairs.placing.cuts import fitting, offsets
from layoutdrill.drawing.row_pairs.placing.floor import Floor, Region, Strip
from layoutdrill.drawing.row_pairs.placing.pairing import Form
from layoutdrill.drawing.row_pairs.routing.grid import FREE, Grid, ends_of
from layoutdrill.drawing.row_pairs.routing.router import Tree
from layoutdrill.drawing.row_pairs.shaping.painting import SORTS
from layoutdrill.drawing.row_pairs.shaping.places import column_places, row_places
from layoutdrill.drawing.row_pairs.shaping.pockets import bands_in, keep_steps, pockets_in, start_of
from layoutdrill.drawing.row_pairs.shaping.rails import (
    BOTTOM,
    LEFT,
    RAILS,
    RIGHT,
    TOP,
    UPPER,
    WELL,
    Room,
    draw_rails,
    draw_rings,
    keep_between_rails,
    keep_inside,
)
from layoutdrill.drawing.row_pairs.shaping.sketch import Edge, Gap, Shape, Sketch
from layoutdrill.drawing.row_pairs.shaping.standing import draw_stand
from layoutdrill.drawing.row_pairs.shaping.strips import draw_strip
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.unions import Unions


def sketch(floor: Floor, grid: Grid, trees: dict[int, Tree], technique: Technique, room: Room,
           supplies: tuple[int, int]) -> Sketch:  # fmt: skip
    """Return the legal, roomy sketch of the routed grid."""
    return _Sketcher(floor, grid, trees, technique, room, supplies).run()


class _Sketcher:
    def __init__(self, floor: Floor, grid: Grid, trees: dict[int, Tree], technique: Technique, room: Room,
                 supplies: tuple[int, int]) -> None:  # fmt: skip
        self.floor = floor
        self.grid = grid
        self.trees = trees
        self.technique = technique
        self.room = room
        self.pitch = technique.pitch + room.loose
        self.supplies = supplies
        self.out = Sketch()
        self.x_of = Unions()
        self.y_of = Unions()
        self.x_line: dict[int, int] = {}
        self.y_line: dict[int, int] = {}
        self.row_at = row_places(floor, grid.rows, technique, room)
        self.column_at = column_places(floor, technique, self.pitch)
        self.strip_of: dict[int, Strip] = {}
        self.strip_line: dict[int, int] = {}
        self.strip_with = {id(item): strip for strip in floor.strips for item in strip.items}
        self.stand_with = {id(end): stand for stand in floor.stands for end in (stand.inner, stand.outer)}
        self.contacts: list[tuple[int, int, Region]] = []
        self.important: set[int] = set()
        self.cuts: set[int] = set()
        self.pockets: dict[int, tuple[int, int]] = {}
        self.stepped: set[int] = set()
        self.used = {node for tree in trees.values() for node in tree.nodes}

    def run(self) -> Sketch:
        out, t = self.out, self.technique
        out.xs += [-4 * self.pitch, self.column_at[-1] + 4 * self.pitch]
        low, high = self.row_at[0], self.row_at[-1]
        out.ys += [low - 2 * self.pitch, high + 2 * self.pitch, low, high, 0]
        loose = self.room.loose
        out.gaps += [Gap(sort, sort, wire.spacing + loose) for sort, wire in zip(SORTS, t.wires, strict=False)]
        out.gaps += [Gap("diffusion", "diffusion", t.diffusion_spacing), Gap("other", "diffusion", t.other_gap)]
        for strip in self.floor.strips:
            for gate in strip.gates:
                for r in self.grid.rows.lying(strip.row):
                    self.strip_of[self.grid.node(t.gate_layer, r, gate.column)] = strip
        if t.rings is not None:
            out.gaps += [Gap("ring", sort, t.rings.gap) for sort in ("other", "diffusion")]
        edges = self._edges()
        for a, b, _ in edges:
            self._tie(a, b)
        for node, _, _ in self.contacts:
            self.important.add(node)
            self.cuts.add(node)
        for stand in self.floor.stands:
            inner, outer = (self.grid.node(METAL, r, stand.column) for r in ends_of(self.grid, stand))
            self.x_of.join(inner, outer)
            self.x_of.join(inner, inner + self.grid.size)
        # A wire that leaves from the middle of another stays with it.
        self.important |= {node for tree in self.trees.values() for node, _ in tree.exits}
        self._strips()
        self._stands()
        self._wires(edges)
        for net, tree in self.trees.items():
            for node, side in tree.exits:
                self._exit(net, node, side)
        for node, net, region in self.contacts:
            self._landing(node, net, region)
        strips = [(self.strip_line[id(s)], s.row) for s in self.floor.strips]
        exits = {side for tree in self.trees.values() for _, side in tree.exits}
        draw_rails(out, t, self.room, self.supplies)
        if t.rings is not None:
            below = self.row_at[self.grid.rows.barrier - 1] + t.wires[OTHER].pad // 2 + t.rings.gap + t.rings.width // 2
            draw_rings(
                out, t, t.rings, self.supplies, (below, below + t.rings.width + t.rings.well_past + t.rings.apart)
            )
        keep_inside(out, t, self.room, self.supplies, exits)
        keep_between_rails(out, t, self.room, self.supplies, self.y_line.values(), strips)
        out.ys[WELL] = (self.row_at[self.grid.rows.between[0]] + self.row_at[self.grid.rows.between[-1]]) // 2
        return out

    def _edges(self) -> list[tuple[int, int, int]]:
        found = []
        for net, fixed in self.grid.fixed.items():
            found += [(a, b, net) for a, b in fixed]
        for net, tree in self.trees.items():
            found += [(a, b, net) for a, b in tree.edges if (a, b) not in self.grid.fixed.get(net, ())]
            self.contacts += [(node, net, region) for node, region in tree.contacts]
        self.contacts += [(node, region.net, region) for node, region in self.grid.contacts]
        return sorted(found)

    def _tie(self, a: int, b: int) -> None:
        size, columns = self.grid.size, self.grid.columns
        if b - a >= size:
            self.x_of.join(a, b)
            self.y_of.join(a, b)
            self.important |= {a, b}
            self.cuts |= {a, b}
        elif b - a == columns:
            self.x_of.join(a, b)
        else:
            self.y_of.join(a, b)

    def x(self, node: int) -> int:
        root = self.x_of.find(node)
        line = self.x_line.get(root)
        if line is None:
            line = self.x_line[root] = self.out.x_line(self.column_at[self.grid.place(node)[2]])
        return line

    def y(self, node: int) -> int:
        _, row, _ = self.grid.place(node)
        if row == 0:
            return RAILS[0]
        if row == self.grid.rows.count - 1:
            return RAILS[1]
        root = self.y_of.find(node)
        line = self.y_line.get(root)
        if line is None:
            line = self.y_line[root] = self.out.y_line(self.row_at[row])
        return line

    def _strips(self) -> None:
        t, out = self.technique, self.out
        bent = {s.row for s in self.floor.strips for g in s.gates if g.device.form is not Form.STRAIGHT}
        self.stepped |= {s.row for s in self.floor.strips for g in s.gates if g.device.step}
        for number, strip in enumerate(self.floor.strips):
            block = self.grid.rows.lying(strip.row)
            height = self.room.widths[strip.row]
            y_lines: dict[int, set[int]] = {id(region): set() for region in strip.regions}
            for node, _, region in self.contacts:
                if id(region) in y_lines:
                    y_lines[id(region)].add(self.y(node))
            keep_steps(strip, y_lines)
            up = start_of(strip, t, height, self.room.loose)
            bands = bands_in(strip, t, height, up) if strip.row in bent and strip.row not in self.stepped else {}
            reach = t.contact // 2 + t.surround
            self.pockets |= {region: (low + reach, height - high + reach) for region, (low, high) in bands.items()}
            self.pockets |= pockets_in(strip, t, height, self.room.loose)
            line = out.y_line((self.row_at[block[0]] + self.row_at[block[-1]]) // 2 - up)
            self.strip_line[id(strip)] = line
            left = out.x_line(self.column_at[strip.regions[0].columns[0]] - reach)
            right = out.x_line(self.column_at[strip.regions[-1].columns[-1]] + reach)
            landed: dict[int, list[tuple[int, bool]]] = {}
            for region in strip.regions:
                nodes = sorted((self.grid.place(n)[2], n) for n, _, found in self.contacts if found is region)
                landed[id(region)] = list(dict.fromkeys((self.x(n), n >= self.grid.size) for _, n in nodes))
            gates = {id(gate): self.x(self.grid.node(t.gate_layer, block[0], gate.column)) for gate in strip.gates}
            net = UPPER * strip.row - 10 - number
            draw_strip(out, t, strip, net, (left, right), line, height, gates, landed, (up, bands))

    def _stands(self) -> None:
        for number, stand in enumerate(self.floor.stands):
            inner, outer = (self.grid.node(METAL, r, stand.column) for r in ends_of(self.grid, stand))
            landed = any(region is stand.inner for _, _, region in self.contacts)
            lines = self.y(inner), self.y(outer), self.y(inner + self.grid.size)
            net = UPPER * stand.device.row - 500 - number
            draw_stand(self.out, self.technique, stand, net, self.x(inner), lines, landed=landed)

    def _wires(self, edges: list[tuple[int, int, int]]) -> None:
        size, columns = self.grid.size, self.grid.columns
        upright: dict[int, int] = {}
        level: dict[int, int] = {}
        for a, b, net in edges:
            if b - a >= size:
                self._contact(a, b, net)
            elif b - a == columns:
                upright[a] = net
            else:
                level[a] = net
        for a in upright:
            self.important |= {n for n in (a, a + columns) if n in level or n - 1 in level}
        for a in level:
            self.important |= {n for n in (a, a + 1) if n in upright or n - columns in upright}
        for run in _runs(level, 1):
            self._level(run, level[run[0]])
            if self._bends(run, upright, columns):
                self.out.bends_x.append((self.x(run[0]), self.x(run[-1])))
        for run in _runs(upright, columns):
            self._upright(run, upright[run[0]])
            if self._bends(run, level, 1):
                self.out.bends_y.append((self.y(run[0]), self.y(run[-1])))

    def _bends(self, run: list[int], across: dict[int, int], step: int) -> bool:
        """Tell whether a run only joins its two ends, which do not both go on to the same side."""
        first, last = run[0], run[-1]
        if any(node in self.important for node in run[1:-1]):
            return False
        same = (first in across and last in across) or (first - step in across and last - step in across)
        return not same and (first not in self.cuts or last not in self.cuts)

    def _level(self, run: list[int], net: int) -> None:
        layer = self.grid.place(run[0])[0]
        half = self.technique.wires[layer].width // 2
        y = self.y(run[0])
        stops = [n for n in run if n in (run[0], run[-1]) or n in self.important]
        lines = [self.x(n) for n in stops]
        self.out.x_rules += [(a, b, 0) for a, b in itertools.pairwise(lines) if a != b]
        self._wire(run[0], net, (lines[0], -half), (lines[-1], half), (y, -half), (y, half))

    def _upright(self, run: list[int], net: int) -> None:
        """Draw a vertical wire in the stretches between device rows; in a device row the gate itself is the wire."""
        layer = self.grid.place(run[0])[0]
        half = self.technique.wires[layer].width // 2
        x = self.x(run[0])
        stretch: list[int] = []
        below: Strip | None = None
        for node in [*run, None]:
            strip = self.strip_of.get(node) if node is not None else None
            if node is not None and strip is None:
                stretch.append(node)
                continue
            if stretch:
                self._stretch(stretch[0], net, x, half, stretch, below, strip)
            elif below is not None and strip is not None and strip is not below:
                self._stretch(run[0], net, x, half, [], below, strip)
            stretch = []
            below = strip

    def _stretch(self, node: int, net: int, x: int, half: int, nodes: list[int], below: Strip | None,
                 above: Strip | None) -> None:  # fmt: skip
        rules = self.out.y_rules
        stops = [n for n in nodes if n in (nodes[0], nodes[-1]) or n in self.important]
        lines = [self.y(n) for n in stops]
        rules += [(a, b, 0) for a, b in itertools.pairwise(lines) if a != b]
        low = (lines[0], -half) if lines else (0, 0)
        high = (lines[-1], half) if lines else (0, 0)
        if below is not None:
            edge = self.strip_line[id(below)], self.room.widths[below.row]
            low = edge
            if lines:
                rules.append((edge[0], lines[0], edge[1]))
        if above is not None:
            high = (self.strip_line[id(above)], 0)
            if lines:
                rules.append((lines[-1], high[0], 0))
        self._wire(node, net, (x, -half), (x, half), low, high)

    def _wire(self, node: int, net: int, x0: Edge, x1: Edge, y0: Edge, y1: Edge) -> None:
        layer = self.grid.place(node)[0]
        self.out.shapes.append(Shape(self._mask(node), SORTS[layer], net, x0, x1, y0, y1, solid=False))
        if layer == OTHER:
            self._dope(x0, x1, y0, y1)

    def _mask(self, node: int) -> str:
        """Return a wire's mask layer; in bulk silicon a crossunder is doped unlike what it lies in."""
        layer, row, _ = self.grid.place(node)
        wire = self.technique.wires[layer]
        if wire.layer or self.technique.doped is None:
            return wire.layer
        return self.technique.doped.doping[row >= self.grid.rows.barrier]

    def _dope(self, x0: Edge, x1: Edge, y0: Edge, y1: Edge) -> None:
        """Dope a crossunder through an island."""
        doped = self.technique.doped
        if doped is not None and doped.island:
            p = doped.past
            box = (x0[0], x0[1] - p), (x1[0], x1[1] + p), (y0[0], y0[1] - p), (y1[0], y1[1] + p)
            self.out.shapes.append(Shape(doped.doping[self.room.under], "", 0, *box, solid=True))

    def _pad(self, node: int, net: int, x: Edge, y: Edge, across: int = 0, up: int = 0) -> None:
        """Draw a landing pad about a place, longer by `across` and `up` each way."""
        layer = self.grid.place(node)[0]
        half = self.technique.wires[layer].pad // 2
        wide, high = half + across, half + up
        box = (x[0], x[1] - wide), (x[0], x[1] + wide), (y[0], y[1] - high), (y[0], y[1] + high)
        self.out.shapes.append(Shape(self._mask(node), SORTS[layer], net, *box, solid=True))
        if layer == OTHER:
            self._dope(*box)

    def _cut(self, mask: str, x: Edge, y: Edge) -> None:
        half = self.technique.contact // 2
        box = (x[0], x[1] - half), (x[0], x[1] + half), (y[0], y[1] - half), (y[0], y[1] + half)
        self.out.shapes.append(Shape(mask, "", 0, *box, solid=True))

    def _contact(self, a: int, b: int, net: int) -> None:
        """Join metal and the layer below it or above it; two cuts side by side where the next column is free."""
        t = self.technique
        x, y = self.x(a), self.y(a)
        below = b - a == self.grid.size
        side = self._free_side(a) if below and self.room.cuts.heads > 1 else 0
        reach = t.contact if side else 0
        at = x, side * reach
        self._pad(a, net, at, (y, 0), reach)
        self._pad(b, net, at, (y, 0), reach)
        for far in (-reach, reach) if side else (0,):
            self._cut("contact" if below else t.via, (x, side * reach + far), (y, 0))

    def _free_side(self, node: int) -> int:
        """Return on which side, +1 or −1, no wire uses the places beside a contact of metal to what lies below it."""
        rows = self.grid.rows
        _, row, column = self.grid.place(node)
        if row not in rows.between:
            return 0
        for side in (1, -1):
            places = node + side, node + side + self.grid.size
            if 0 < column + side < self.grid.columns - 1 and not any(
                n in self.used or self.grid.owner[n] != FREE for n in places
            ):
                return side
        return 0

    def _landing(self, node: int, net: int, region: Region) -> None:
        """Join metal, or poly by a buried contact, and a source or drain."""
        t = self.technique
        x, y = self.x(node), self.y(node)
        stand = self.stand_with.get(id(region))
        if stand is not None:
            self._pad(node, net, (x, 0), (y, 0))
            self._cut("contact", (x, 0), (y, 0))
            return
        strip = self.strip_with[id(region)]
        line, height = self.strip_line[id(strip)], self.room.widths[strip.row]
        if node >= self.grid.size:
            self._burial(node, x, y, line, height)
            return
        inset = t.contact // 2 + t.surround
        most = self.room.cuts.straps if net == self.supplies[strip.row] else self.room.cuts.ends
        low, high = self.pockets.get(id(region), (inset, inset))
        start = max(low, min(self.out.ys[y] - self.out.ys[line], height - high))
        alone = len(self.grid.rows.lying(strip.row)) == 1 and strip.row not in self.stepped
        count = fitting(low, start, height - high, most, t) if alone else 1
        reach = (count - 1) * t.contact
        self._pad(node, net, (x, 0), (y, 0), 0, reach)
        for far in offsets(count, t):
            self._cut("contact", (x, 0), (y, far))
        self.out.y_rules += [(line, y, low + reach), (y, line, high + reach - height)]

    def _burial(self, node: int, x: int, y: int, line: int, height: int) -> None:
        """Cover the end of a poly wire on a diffusion with a buried contact."""
        t = self.technique
        assert t.buried is not None
        half, past = t.wires[OTHER].width // 2, t.buried.past
        inset = max(half, t.buried.overlap - half)
        self.out.y_rules += [(line, y, inset), (y, line, inset - height)]
        edges = {edge for tree in self.trees.values() if node in tree.nodes for edge in tree.edges if node in edge}
        low = (line, -past) if any(a != node for a, _ in edges) else (y, -half - past)
        high = (line, height + past) if any(b != node for _, b in edges) else (y, half + past)
        x0, x1 = (x, -half - past), (x, half + past)
        self.out.shapes.append(Shape(t.buried.layer, "", 0, x0, x1, low, high, solid=True))

    def _exit(self, net: int, node: int, side: str) -> None:
        """Run a wire out to the border and name it there."""
        layer = self.grid.place(node)[0]
        wire = self.technique.wires[layer]
        half = wire.width // 2
        x, y = self.x(node), self.y(node)
        across_x, across_y = ((x, -half), (x, half)), ((y, -half), (y, half))
        if side == "left":
            self._wire(node, net, (LEFT, 0), (x, half), *across_y)
            place = (LEFT, 1), (y, 0)
        elif side == "right":
            self._wire(node, net, (x, -half), (RIGHT, 0), *across_y)
            place = (RIGHT, -1), (y, 0)
        elif side == "bottom":
            self._wire(node, net, *across_x, (BOTTOM, 0), (y, half))
            place = (x, 0), (BOTTOM, 1)
        else:
            self._wire(node, net, *across_x, (y, -half), (TOP, 0))
            place = (x, 0), (TOP, -1)
        self.out.labels.append((net, self._mask(node), *place))
        if self.room.landings and side in ("left", "right"):
            pad = wire.pad
            x0, x1 = ((LEFT, 0), (LEFT, pad)) if side == "left" else ((RIGHT, -pad), (RIGHT, 0))
            box = x0, x1, (y, -(pad // 2)), (y, pad // 2)
            self.out.shapes.append(Shape(self._mask(node), SORTS[layer], net, *box, solid=True))


def _runs(starts: Iterable[int], step: int) -> list[list[int]]:
    """Chain edges (node, node + step) into maximal runs of nodes."""
    rest = set(starts)
    found = []
    for a in sorted(rest):
        if a - step in rest:
            continue
        run = [a]
        while run[-1] in rest:
            run.append(run[-1] + step)
        found.append(run)
    return found
