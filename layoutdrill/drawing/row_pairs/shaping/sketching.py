"""Turn a routed grid into a sketch: wires, pads, gates and diffusions, hung on lines that compaction may move."""

import itertools
from collections.abc import Iterable, Mapping

from layoutdrill.drawing.row_pairs.placing.cuts import fitting, offsets
from layoutdrill.drawing.row_pairs.placing.devices import Form
from layoutdrill.drawing.row_pairs.placing.floor import Region, Strip
from layoutdrill.drawing.row_pairs.routing.grid import FREE, Grid
from layoutdrill.drawing.row_pairs.routing.router import Tree
from layoutdrill.drawing.row_pairs.shaping.lane import Lane, bands_in, keep_steps, pockets_in, start_of
from layoutdrill.drawing.row_pairs.shaping.places import column_places, row_places
from layoutdrill.drawing.row_pairs.shaping.rails import (
    Taps,
    draw_rails,
    draw_rings,
    keep_between_rails,
    keep_inside,
)
from layoutdrill.drawing.row_pairs.shaping.sketch import (
    BOTTOM,
    LEFT,
    RAILS,
    RIGHT,
    TOP,
    UPPER,
    WELL,
    WIRES,
    Edge,
    Gap,
    Paint,
    Sketch,
    Sort,
    Span,
    about,
)
from layoutdrill.drawing.row_pairs.shaping.standing import draw_stand
from layoutdrill.drawing.row_pairs.shaping.strips import draw_strip
from layoutdrill.drawing.shared.technique import OTHER
from layoutdrill.unions import Unions


def sketch(grid: Grid, trees: Mapping[int, Tree], taps: Taps) -> Sketch:
    """Return the legal, roomy sketch of the routed grid."""
    return _Sketcher(grid, trees, taps).run()


class _Sketcher:
    def __init__(self, grid: Grid, trees: Mapping[int, Tree], taps: Taps) -> None:
        self.grid = grid
        self.trees = trees
        self.taps = taps
        self.technique = grid.technique
        self.choices = grid.choices
        self.pitch = grid.technique.pitch + grid.choices.loose
        self.out = Sketch(grid.technique)
        self.x_of = Unions()
        self.y_of = Unions()
        self.x_line: dict[int, int] = {}
        self.y_line: dict[int, int] = {}
        self.row_at = row_places(grid)
        self.column_at = column_places(grid.floor, grid.technique, self.pitch)
        self.strip_of = {
            node: strip
            for strip in grid.floor.strips
            for gate in strip.gates
            for node in grid.gate_nodes(strip, gate.column)
        }
        self.strip_line: dict[Strip, int] = {}
        self.strip_with = {region: strip for strip in grid.floor.strips for region in strip.regions}
        self.stand_ends = {end for stand in grid.floor.stands for end in (stand.inner, stand.outer)}
        self.contacts = [(node, net, region) for net, tree in trees.items() for node, region in tree.contacts]
        self.contacts += [(node, region.net, region) for node, region in grid.contacts]
        self.stops: set[int] = set()
        """Nodes at which something hangs, so that a wire needs a line of its own there."""
        self.cuts: set[int] = set()
        self.pockets: dict[Region, tuple[int, int]] = {}
        self.stepped = {s.row for s in grid.floor.strips if any(gate.step for gate in s.gates)}
        self.used = {node for tree in trees.values() for node in tree.nodes}

    def run(self) -> Sketch:
        out, grid = self.out, self.grid
        out.xs += [-4 * self.pitch, self.column_at[-1] + 4 * self.pitch]
        low, high = self.row_at[0], self.row_at[-1]
        out.ys += [low - 2 * self.pitch, high + 2 * self.pitch, low, high, 0]
        self._keep_sorts_apart()
        edges = self._edges()
        for a, b, _ in edges:
            self._tie(a, b)
        self.cuts |= {node for node, _, _ in self.contacts}
        self.stops |= self.cuts
        for stand in grid.floor.stands:
            inner, outer = grid.ends_of(stand)
            self.x_of.join(inner, outer)
            self.x_of.join(inner, inner + grid.size)
        # A wire that leaves from the middle of another stays with it.
        self.stops |= {node for tree in self.trees.values() for node, _ in tree.exits}
        for number, strip in enumerate(grid.floor.strips):
            draw_strip(out, self._lane(strip), UPPER * strip.row - 10 - number)
        self._stands()
        self._wires(edges)
        for net, tree in self.trees.items():
            for node, side in tree.exits:
                self._exit(net, node, side)
        for node, net, region in self.contacts:
            self._landing(node, net, region)
        self._frame()
        return out

    def _keep_sorts_apart(self) -> None:
        out, t = self.out, self.technique
        loose = self.choices.loose
        out.gaps += [Gap(sort, sort, wire.spacing + loose) for sort, wire in zip(WIRES, t.wires, strict=False)]
        out.gaps.append(Gap(Sort.DIFFUSION, Sort.DIFFUSION, t.diffusion_spacing))
        out.gaps.append(Gap(Sort.BELOW, Sort.DIFFUSION, t.other_gap))
        if t.rings is not None:
            out.gaps += [Gap(Sort.RING, sort, t.rings.gap) for sort in (Sort.BELOW, Sort.DIFFUSION)]

    def _frame(self) -> None:
        """Draw rails and rings, and keep all else between them."""
        out, t, supplies = self.out, self.technique, self.grid.supplies
        rows = self.grid.rows
        draw_rails(out, self.choices, self.taps, supplies)
        if t.rings is not None:
            below = self.row_at[rows.barrier - 1] + t.wires[OTHER].pad // 2 + t.rings.gap + t.rings.width // 2
            draw_rings(out, t.rings, supplies, below)
        exits = {side for tree in self.trees.values() for _, side in tree.exits}
        keep_inside(out, self.choices, supplies, exits)
        strips = [(line, strip.row) for strip, line in self.strip_line.items()]
        keep_between_rails(out, self.choices, supplies, self.y_line.values(), strips)
        out.ys[WELL] = (self.row_at[rows.between[0]] + self.row_at[rows.between[-1]]) // 2

    def _edges(self) -> list[tuple[int, int, int]]:
        fixed = self.grid.fixed
        edges = [(a, b, net) for net, own in fixed.items() for a, b in own]
        edges += [(a, b, net) for net, tree in self.trees.items() for a, b in tree.edges - fixed.get(net, set())]
        return sorted(edges)

    def _tie(self, a: int, b: int) -> None:
        step = b - a
        if step != 1:
            self.x_of.join(a, b)
        if step != self.grid.columns:
            self.y_of.join(a, b)
        if step >= self.grid.size:
            self.cuts |= {a, b}

    def x(self, node: int) -> int:
        root = self.x_of.find(node)
        line = self.x_line.get(root)
        if line is None:
            line = self.x_line[root] = self.out.x_line(self.column_at[self.grid.place(node)[2]])
        return line

    def y(self, node: int) -> int:
        row = self.grid.place(node)[1]
        if row in (0, self.grid.rows.count - 1):
            return RAILS[row > 0]
        root = self.y_of.find(node)
        line = self.y_line.get(root)
        if line is None:
            line = self.y_line[root] = self.out.y_line(self.row_at[row])
        return line

    def _lane(self, strip: Strip) -> Lane:
        """Say how a strip lies, and how far its contacts stay inside its edges."""
        t, out, loose = self.technique, self.out, self.choices.loose
        block, height = self.grid.rows.lying(strip.row), self.choices.widths[strip.row]
        own: dict[Region, list[int]] = {region: [] for region in strip.regions}
        for node, _, region in self.contacts:
            if region in own:
                own[region].append(node)
        keep_steps(strip, {region: {self.y(node) for node in nodes} for region, nodes in own.items()})
        up = start_of(strip, t, height, loose)
        row = [s for s in self.grid.floor.strips if s.row == strip.row]
        bent = any(gate.device.form is not Form.STRAIGHT for s in row for gate in s.gates)
        bands = bands_in(strip, t, height, up) if bent and strip.row not in self.stepped else {}
        reach = t.body // 2
        self.pockets |= {region: (low + reach, height - high + reach) for region, (low, high) in bands.items()}
        self.pockets |= pockets_in(strip, t, height, loose)
        line = self.strip_line[strip] = out.y_line((self.row_at[block[0]] + self.row_at[block[-1]]) // 2 - up)
        left = out.x_line(self.column_at[strip.regions[0].columns[0]] - reach)
        right = out.x_line(self.column_at[strip.regions[-1].columns[-1]] + reach)
        contacts = {}
        for region, nodes in own.items():
            ordered = sorted(nodes, key=lambda n: (self.grid.place(n)[2], n))
            contacts[region] = list(dict.fromkeys((self.x(n), n >= self.grid.size) for n in ordered))
        gates = {gate: self.x(self.grid.gate_nodes(strip, gate.column)[0]) for gate in strip.gates}
        return Lane(strip, t, left, right, line, height, gates, contacts, up, bands)

    def _stands(self) -> None:
        landed = {region for _, _, region in self.contacts}
        for number, stand in enumerate(self.grid.floor.stands):
            inner, outer = self.grid.ends_of(stand)
            lines = self.y(inner), self.y(outer), self.y(inner + self.grid.size)
            net = UPPER * stand.device.row - 500 - number
            draw_stand(self.out, stand, net, self.x(inner), lines, landed=stand.inner in landed)

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
            self.stops |= {n for n in (a, a + columns) if n in level or n - 1 in level}
        for a in level:
            self.stops |= {n for n in (a, a + 1) if n in upright or n - columns in upright}
        for run in _runs(level, 1):
            self._level(run, level[run[0]])
            if self._bends(run, upright, columns):
                self.out.bends_x.append((self.x(run[0]), self.x(run[-1])))
        for run in _runs(upright, columns):
            self._upright(run, upright[run[0]])
            if self._bends(run, level, 1):
                self.out.bends_y.append((self.y(run[0]), self.y(run[-1])))

    def _bends(self, run: list[int], across: Mapping[int, int], step: int) -> bool:
        """Tell whether a run only joins its two ends, which do not both go on to the same side."""
        first, last = run[0], run[-1]
        if any(node in self.stops for node in run[1:-1]):
            return False
        same = (first in across and last in across) or (first - step in across and last - step in across)
        return not same and (first not in self.cuts or last not in self.cuts)

    def _half(self, node: int) -> int:
        """Return half the width of a wire on a node's layer."""
        return self.technique.wires[self.grid.place(node)[0]].width // 2

    def _level(self, run: list[int], net: int) -> None:
        lines = [self.x(n) for n in run if n in (run[0], run[-1]) or n in self.stops]
        self.out.x_rules += [(a, b, 0) for a, b in itertools.pairwise(lines) if a != b]
        half = self._half(run[0])
        self._wire(run[0], net, ((lines[0], -half), (lines[-1], half)), about(self.y(run[0]), half))

    def _upright(self, run: list[int], net: int) -> None:
        """Draw a vertical wire in the stretches between device rows; in a device row the gate itself is the wire."""
        stretch: list[int] = []
        below: Strip | None = None
        for node in [*run, None]:
            strip = self.strip_of.get(node) if node is not None else None
            if node is not None and strip is None:
                stretch.append(node)
                continue
            if stretch or (below is not None and strip is not None and strip is not below):
                self._stretch((stretch or run)[0], net, stretch, below, strip)
            stretch = []
            below = strip

    def _stretch(self, node: int, net: int, nodes: list[int], below: Strip | None, above: Strip | None) -> None:
        """Draw a piece of an upright wire, from the gate below it to the gate above it."""
        rules, half = self.out.y_rules, self._half(node)
        lines = [self.y(n) for n in nodes if n in (nodes[0], nodes[-1]) or n in self.stops]
        rules += [(a, b, 0) for a, b in itertools.pairwise(lines) if a != b]
        low = (lines[0], -half) if lines else (0, 0)
        high = (lines[-1], half) if lines else (0, 0)
        if below is not None:
            low = self.strip_line[below], self.choices.widths[below.row]
            rules += [(low[0], lines[0], low[1])] if lines else []
        if above is not None:
            high = self.strip_line[above], 0
            rules += [(lines[-1], high[0], 0)] if lines else []
        self._wire(node, net, about(self.x(node), half), (low, high))

    def _wire(self, node: int, net: int, x: Span, y: Span, *, solid: bool = False) -> None:
        """Add a wire, or a `solid` landing; a crossunder through an island is doped."""
        layer = self.grid.place(node)[0]
        self.out.box(Paint(self._mask(node), WIRES[layer], net), x, y, solid=solid)
        doped = self.technique.doped
        if layer == OTHER and doped is not None and doped.island:
            (x0, x1), (y0, y1), p = x, y, doped.past
            box = ((x0[0], x0[1] - p), (x1[0], x1[1] + p)), ((y0[0], y0[1] - p), (y1[0], y1[1] + p))
            self.out.box(Paint(doped.doping[self.choices.under]), *box)

    def _mask(self, node: int) -> str:
        """Return a wire's mask layer; in bulk silicon a crossunder is doped unlike what it lies in."""
        layer, row, _ = self.grid.place(node)
        wire = self.technique.wires[layer]
        if wire.layer or self.technique.doped is None:
            return wire.layer
        return self.technique.doped.doping[row >= self.grid.rows.barrier]

    def _pad(self, node: int, net: int, x: Edge, y: Edge, longer: tuple[int, int] = (0, 0)) -> None:
        """Draw a landing about a place, `longer` across and up each way."""
        half = self.technique.wires[self.grid.place(node)[0]].pad // 2
        wide, high = half + longer[0], half + longer[1]
        box = ((x[0], x[1] - wide), (x[0], x[1] + wide)), ((y[0], y[1] - high), (y[0], y[1] + high))
        self._wire(node, net, *box, solid=True)

    def _contact(self, a: int, b: int, net: int) -> None:
        """Join metal and the layer below it or above it; two cuts side by side where the next column is free."""
        t = self.technique
        x, y = self.x(a), self.y(a)
        below = b - a == self.grid.size
        side = self._free_side(a) if below and self.choices.cuts.heads > 1 else 0
        reach = t.contact if side else 0
        for node in (a, b):
            self._pad(node, net, (x, side * reach), (y, 0), (reach, 0))
        for far in (-reach, reach) if side else (0,):
            self.out.cut((x, side * reach + far), (y, 0), t.cut if below else t.via)

    def _free_side(self, node: int) -> int:
        """Return on which side, +1 or −1, no wire uses the places beside a contact of metal to what lies below it."""
        grid = self.grid
        _, row, column = grid.place(node)
        for side in (1, -1) if row in grid.rows.between else ():
            places = node + side, node + side + grid.size
            free = all(n not in self.used and grid.owner[n] == FREE for n in places)
            if free and 0 < column + side < grid.columns - 1:
                return side
        return 0

    def _landing(self, node: int, net: int, region: Region) -> None:
        """Join metal, or poly by a buried contact, and a source or drain."""
        t, out = self.technique, self.out
        x, y = self.x(node), self.y(node)
        if region in self.stand_ends:
            self._pad(node, net, (x, 0), (y, 0))
            out.cut((x, 0), (y, 0))
            return
        strip = self.strip_with[region]
        line, height = self.strip_line[strip], self.choices.widths[strip.row]
        if node >= self.grid.size:
            self._burial(node, line, height)
            return
        inset = t.body // 2
        most = self.choices.cuts.straps if net == self.grid.supplies[strip.row] else self.choices.cuts.ends
        low, high = self.pockets.get(region, (inset, inset))
        start = max(low, min(out.ys[y] - out.ys[line], height - high))
        alone = len(self.grid.rows.lying(strip.row)) == 1 and strip.row not in self.stepped
        count = fitting(low, start, height - high, most, t) if alone else 1
        reach = (count - 1) * t.contact
        self._pad(node, net, (x, 0), (y, 0), (0, reach))
        for far in offsets(count, t):
            out.cut((x, 0), (y, far))
        out.y_rules += [(line, y, low + reach), (y, line, high + reach - height)]

    def _burial(self, node: int, line: int, height: int) -> None:
        """Cover the end of a poly wire on a diffusion with a buried contact."""
        t, x, y = self.technique, self.x(node), self.y(node)
        assert t.buried is not None
        half, past = t.wires[OTHER].width // 2, t.buried.past
        inset = max(half, t.buried.overlap - half)
        self.out.y_rules += [(line, y, inset), (y, line, inset - height)]
        edges = {edge for tree in self.trees.values() if node in tree.nodes for edge in tree.edges if node in edge}
        low = (line, -past) if any(a != node for a, _ in edges) else (y, -half - past)
        high = (line, height + past) if any(b != node for _, b in edges) else (y, half + past)
        self.out.box(Paint(t.buried.layer), about(x, half + past), (low, high))

    def _exit(self, net: int, node: int, side: str) -> None:
        """Run a wire out to the border and name it there; with landings it ends as broad as a contact needs."""
        half = self._half(node)
        pad = self.technique.wires[self.grid.place(node)[0]].pad
        x, y = about(self.x(node), half), about(self.y(node), half)
        border = {"left": (LEFT, 0), "right": (RIGHT, 0), "bottom": (BOTTOM, 0), "top": (TOP, 0)}[side]
        low, level = side in ("left", "bottom"), side in ("left", "right")
        run = x if level else y
        run = (border, run[1]) if low else (run[0], border)
        self._wire(node, net, *((run, y) if level else (x, run)))
        inside = border[0], 1 if low else -1
        place = (inside, (self.y(node), 0)) if level else ((self.x(node), 0), inside)
        self.out.labels.append((net, self._mask(node), *place))
        if self.choices.landings and level:
            end = (border, (border[0], pad)) if low else ((border[0], -pad), border)
            metal, other = self.technique.wires[:2]  # so far apart that each may dive below the metal right there
            self.out.box(
                self.out.metal_paint(net),
                end,
                about(self.y(node), max(pad, other.pad + other.spacing - metal.spacing) // 2),
            )


def _runs(starts: Iterable[int], step: int) -> list[list[int]]:
    """Chain edges (node, node + step) into maximal runs of nodes."""
    rest = set(starts)
    chains = []
    for a in sorted(rest):
        if a - step in rest:
            continue
        run = [a]
        while run[-1] in rest:
            run.append(run[-1] + step)
        chains.append(run)
    return chains
