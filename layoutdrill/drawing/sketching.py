"""Turn a routed grid into a sketch: wires, pads, gates and diffusions, hung on lines that compaction may move."""

import itertools

from layoutdrill.drawing.floor import Floor, Gate, Region, Strip
from layoutdrill.drawing.grid import Grid
from layoutdrill.drawing.lines import Lines, runs
from layoutdrill.drawing.rails import (
    BOTTOM,
    LEFT,
    RAILS,
    RIGHT,
    TOP,
    UPPER,
    WELL,
    Room,
    draw_rails,
    keep_between_rails,
    keep_inside,
    square,
)
from layoutdrill.drawing.routing import Tree
from layoutdrill.drawing.sketch import Edge, Gap, Shape, Sketch
from layoutdrill.drawing.technique import METAL, OTHER, GateForm, Technique


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
        self.x_of = Lines()
        self.y_of = Lines()
        self.x_line: dict[int, int] = {}
        self.y_line: dict[int, int] = {}
        self.row_at = self._row_places()
        self.strip_of: dict[int, Strip] = {}
        self.strip_line: dict[int, int] = {}
        self.contacts: list[tuple[int, int, Region]] = []
        self.important: set[int] = set()
        self.cuts: set[int] = set()

    def run(self) -> Sketch:
        out, t = self.out, self.technique
        out.xs += [-3 * self.pitch, (self.floor.columns + 2) * self.pitch]
        low, high = self.row_at[0], self.row_at[-1]
        out.ys += [low - 2 * self.pitch, high + 2 * self.pitch, low, high, 0]
        loose = self.room.loose
        out.gaps.append(Gap("metal", "metal", t.wires[METAL].spacing + loose))
        out.gaps.append(Gap("other", "other", t.wires[OTHER].spacing + loose))
        out.gaps += [Gap("diffusion", "diffusion", t.diffusion_spacing), Gap("other", "diffusion", t.other_gap)]
        for strip in self.floor.strips:
            for gate in strip.gates:
                for r in self.grid.rows.device(strip.row):
                    self.strip_of[self.grid.node(t.gate_layer, r, gate.column)] = strip
        edges = self._edges()
        for a, b, _ in edges:
            self._tie(a, b)
        for node, _, _ in self.contacts:
            self.important.add(node)
            self.cuts.add(node)
        self._strips()
        self._wires(edges)
        for net, tree in self.trees.items():
            for node, side in tree.exits:
                self._exit(net, node, side)
        for node, net, region in self.contacts:
            self._landing(node, net, region)
        strips = [(self.strip_line[id(s)], s.row) for s in self.floor.strips]
        exits = {side for tree in self.trees.values() for _, side in tree.exits}
        draw_rails(out, t, self.room, self.supplies)
        keep_inside(out, t, self.room, self.supplies, exits)
        keep_between_rails(out, t, self.room, self.supplies, self.y_line.values(), strips)
        out.ys[WELL] = (self.row_at[self.grid.rows.between[0]] + self.row_at[self.grid.rows.between[-1]]) // 2
        return out

    def _row_places(self) -> list[int]:
        """Space the rows so widely that whatever was routed is legal at once."""
        t, rows = self.technique, self.grid.rows
        at = 0
        places = []
        blocks = {}
        for row in (0, 1):
            block = rows.device(row)
            slack = max(0, self.room.widths[row] - self.pitch * (len(block) - 1) - 2 * t.surround - t.contact)
            blocks[block[0]] = blocks[block[-1] + 1] = self.pitch + slack
        for r in range(rows.count):
            at += (self.pitch if r else 0) + blocks.get(r, 0)
            places.append(at)
        return places

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
        if b - a == size:
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
            line = self.x_line[root] = self.out.x_line(self.grid.place(node)[2] * self.pitch)
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
        for number, strip in enumerate(self.floor.strips):
            block = self.grid.rows.device(strip.row)
            width = self.room.widths[strip.row]
            middle = (self.row_at[block[0]] + self.row_at[block[-1]]) // 2
            line = out.y_line(middle - width // 2)
            self.strip_line[id(strip)] = line
            first = strip.regions[0].columns[0] * self.pitch
            last = strip.regions[-1].columns[-1] * self.pitch
            reach = t.contact // 2 + t.surround
            left, right = out.x_line(first - reach), out.x_line(last + reach)
            self._chain(strip, left, right)
            y0, y1 = (line, 0), (line, width)
            net = UPPER * strip.row - 10 - number
            out.shapes.append(Shape(t.diffusion, "diffusion", net, (left, 0), (right, 0), y0, y1, solid=True))
            self._doping(strip, (left, right), line)
            for gate in strip.gates:
                self._gate(gate, block[0], line, width)

    def _chain(self, strip: Strip, left: int, right: int) -> None:
        """Keep contacts, gates and the ends of a diffusion in order and apart."""
        t, rules = self.technique, self.out.x_rules
        block = self.grid.rows.device(strip.row)
        near = t.contact // 2 + t.contact_gate + t.gate // 2
        inset = t.contact // 2 + t.surround
        past = t.gate // 2 + t.diffusion_past
        left_of: list[Edge] = []
        right_of: list[Edge] = []
        gate_line = None
        landed: list[int] = []
        for item in strip.items:
            if isinstance(item, Gate):
                line = self.x(self.grid.node(t.gate_layer, block[0], item.column))
                rules += [(other, line, near) for other in landed]
                if gate_line is not None:
                    rules.append((gate_line, line, t.gate + t.wires[t.gate_layer].spacing))
                left_of.append((line, -past))
                right_of.append((line, past))
                gate_line = line
            else:
                nodes = sorted((self.grid.place(n)[2], n) for n, _, region in self.contacts if region is item)
                landed = list(dict.fromkeys(self.x(node) for _, node in nodes))
                for a, b in itertools.pairwise(landed):
                    rules.append((a, b, 2 * t.contact))
                if gate_line is not None:
                    rules += [(gate_line, other, near) for other in landed]
                left_of += [(other, -inset) for other in landed]
                right_of += [(other, inset) for other in landed]
        rules += [(left, line, -offset) for line, offset in left_of]
        rules += [(line, right, offset) for line, offset in right_of]
        self.out.snug_x += [(left, 1, left_of), (right, -1, right_of)]

    def _gate(self, gate: Gate, row: int, line: int, width: int) -> None:
        t = self.technique
        x = self.x(self.grid.node(t.gate_layer, row, gate.column))
        half = t.gate // 2
        wire = t.wires[t.gate_layer]
        sort = "metal" if t.gate_layer == METAL else "other"
        y0, y1 = (line, -t.gate_past), (line, width + t.gate_past)
        self.out.shapes.append(Shape(wire.layer, sort, gate.device.gate, (x, -half), (x, half), y0, y1, solid=True))
        if t.window:
            reach = t.channel // 2 + t.window_past
            y0, y1 = (line, -t.window_past), (line, width + t.window_past)
            self.out.shapes.append(Shape(t.window, "", 0, (x, -reach), (x, reach), y0, y1, solid=True))

    def _doping(self, strip: Strip, ends: tuple[int, int], line: int) -> None:
        """Dope source and drain only, where the gate is metal; poly gates mask themselves."""
        t = self.technique
        if t.form is not GateForm.METAL:
            return
        row = self.grid.rows.device(strip.row)[0]
        gates = [self.x(self.grid.node(t.gate_layer, row, gate.column)) for gate in strip.gates]
        half, past = t.channel // 2, t.doping_past
        starts = [(ends[0], -past)] + [(x, half) for x in gates]
        stops = [(x, -half) for x in gates] + [(ends[1], past)]
        y0, y1 = (line, -past), (line, self.room.widths[strip.row] + past)
        for x0, x1 in zip(starts, stops, strict=True):
            self.out.shapes.append(Shape(t.doping[strip.row], "", 0, x0, x1, y0, y1, solid=True))

    def _wires(self, edges: list[tuple[int, int, int]]) -> None:
        size, columns = self.grid.size, self.grid.columns
        upright: dict[int, int] = {}
        level: dict[int, int] = {}
        for a, b, net in edges:
            if b - a == size:
                self._contact(a, net)
            elif b - a == columns:
                upright[a] = net
            else:
                level[a] = net
        for a in upright:
            self.important |= {n for n in (a, a + columns) if n in level or n - 1 in level}
        for a in level:
            self.important |= {n for n in (a, a + 1) if n in upright or n - columns in upright}
        for run in runs(level, 1):
            self._level(run, level[run[0]])
            if self._bends(run, upright, columns):
                self.out.bends_x.append((self.x(run[0]), self.x(run[-1])))
        for run in runs(upright, columns):
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
        self._wire(layer, net, (lines[0], -half), (lines[-1], half), (y, -half), (y, half))

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
                self._stretch(layer, net, x, half, stretch, below, strip)
            elif below is not None and strip is not None and strip is not below:
                self._stretch(layer, net, x, half, [], below, strip)
            stretch = []
            below = strip

    def _stretch(self, layer: int, net: int, x: int, half: int, nodes: list[int], below: Strip | None,
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
        self._wire(layer, net, (x, -half), (x, half), low, high)

    def _wire(self, layer: int, net: int, x0: Edge, x1: Edge, y0: Edge, y1: Edge) -> None:
        t = self.technique
        sort = "metal" if layer == METAL else "other"
        self.out.shapes.append(Shape(t.wires[layer].layer, sort, net, x0, x1, y0, y1, solid=False))
        if layer == OTHER:
            self._dope_wire(x0, x1, y0, y1)

    def _dope_wire(self, x0: Edge, x1: Edge, y0: Edge, y1: Edge) -> None:
        """Dope a crossunder."""
        t = self.technique
        if t.form is GateForm.METAL:
            p = t.doping_past
            box = (x0[0], x0[1] - p), (x1[0], x1[1] + p), (y0[0], y0[1] - p), (y1[0], y1[1] + p)
            self.out.shapes.append(Shape(t.doping[0], "", 0, *box, solid=True))

    def _pad(self, layer: int, net: int, x: int, y: int) -> None:
        wire = self.technique.wires[layer]
        half = wire.pad // 2
        sort = "metal" if layer == METAL else "other"
        box = (x, -half), (x, half), (y, -half), (y, half)
        self.out.shapes.append(Shape(wire.layer, sort, net, *box, solid=True))
        if layer == OTHER:
            self._dope_wire(*box)

    def _cut(self, x: int, y: int) -> None:
        self.out.shapes.append(square("contact", "", 0, x, y, self.technique.contact // 2))

    def _contact(self, node: int, net: int) -> None:
        """Join metal and the layer below it."""
        x, y = self.x(node), self.y(node)
        self._pad(METAL, net, x, y)
        self._pad(OTHER, net, x, y)
        self._cut(x, y)

    def _landing(self, node: int, net: int, region: Region) -> None:
        """Join metal and a source or drain."""
        t = self.technique
        strip = next(s for s in self.floor.strips if any(item is region for item in s.items))
        x, y = self.x(node), self.y(node)
        self._pad(METAL, net, x, y)
        self._cut(x, y)
        line, width = self.strip_line[id(strip)], self.room.widths[strip.row]
        inset = t.contact // 2 + t.surround
        self.out.y_rules += [(line, y, inset), (y, line, inset - width)]

    def _exit(self, net: int, node: int, side: str) -> None:
        """Run a wire out to the border and name it there."""
        layer = self.grid.place(node)[0]
        wire = self.technique.wires[layer]
        half = wire.width // 2
        x, y = self.x(node), self.y(node)
        across_x, across_y = ((x, -half), (x, half)), ((y, -half), (y, half))
        if side == "left":
            self._wire(layer, net, (LEFT, 0), (x, half), *across_y)
            place = (LEFT, 1), (y, 0)
        elif side == "right":
            self._wire(layer, net, (x, -half), (RIGHT, 0), *across_y)
            place = (RIGHT, -1), (y, 0)
        elif side == "bottom":
            self._wire(layer, net, *across_x, (BOTTOM, 0), (y, half))
            place = (x, 0), (BOTTOM, 1)
        else:
            self._wire(layer, net, *across_x, (y, -half), (TOP, 0))
            place = (x, 0), (TOP, -1)
        self.out.labels.append((net, wire.layer, *place))
