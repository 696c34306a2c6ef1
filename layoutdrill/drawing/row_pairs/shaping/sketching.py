"""Turn a routed grid into a sketch: wires, pads, gates and diffusions, hung on lines that compaction may move."""

import itertools
from collections.abc import Collection, Iterable, Mapping, Sequence

from layoutdrill.drawing.row_pairs.placing.cuts import fitting, offsets
from layoutdrill.drawing.row_pairs.placing.devices import Form
from layoutdrill.drawing.row_pairs.placing.floor import Region, Strip
from layoutdrill.drawing.row_pairs.routing.grid import FREE, Grid
from layoutdrill.drawing.row_pairs.routing.router import Tree
from layoutdrill.drawing.row_pairs.shaping import rails
from layoutdrill.drawing.row_pairs.shaping.lane import Lane, start_of
from layoutdrill.drawing.row_pairs.shaping.lines import BORDERS, Edge, Line, Span, X, Y, about, grown, span
from layoutdrill.drawing.row_pairs.shaping.places import column_places, row_places
from layoutdrill.drawing.row_pairs.shaping.sketch import UPPER, WIRES, Gap, Paint, Sketch, Sort
from layoutdrill.drawing.row_pairs.shaping.standing import draw_stand
from layoutdrill.drawing.row_pairs.shaping.strips import draw_strip
from layoutdrill.drawing.shared.technique import METAL, OTHER
from layoutdrill.unions import Unions


def sketch(grid: Grid, trees: Mapping[int, Tree], cuts: rails.Cuts) -> Sketch:
    """Return the legal, roomy sketch of the routed grid, with the cuts below its rails."""
    return _Sketcher(grid, trees).run(cuts)


class _Sketcher:
    def __init__(self, grid: Grid, trees: Mapping[int, Tree]) -> None:
        self.grid = grid
        self.trees = trees
        self.technique = grid.technique
        self.choices = grid.choices
        self.out = Sketch(grid.technique)
        self.row_at = row_places(grid)
        self.column_at = column_places(grid.floor, grid.technique, grid.technique.pitch + grid.choices.loose)
        self.tied_x, self.tied_y = Unions(), Unions()
        self.lines_x: dict[int, int] = {}
        self.lines_y: dict[int, int] = {}
        gates = [(strip, gate) for strip in grid.floor.strips for gate in strip.gates]
        self.strip_of = {node: strip for strip, gate in gates for node in grid.gate_nodes(strip, gate)}
        self.lanes: dict[Strip, Lane] = {}
        self.contacts = [(node, net, region) for net, tree in trees.items() for node, region in tree.contacts]
        self.contacts += [(node, region.net, region) for node, region in grid.contacts]
        self.cuts = {node for node, _, _ in self.contacts}
        self.stops: set[int] = set()
        """Nodes at which something hangs, so that a wire needs a line of its own there."""
        self.stepped = {strip.row for strip, gate in gates if gate.step}
        self.bent = {strip.row for strip, gate in gates if gate.device.form is not Form.STRAIGHT}
        self.used = {node for tree in trees.values() for node in tree.nodes}

    def run(self, cuts: rails.Cuts) -> Sketch:
        out, grid, margin = self.out, self.grid, self.technique.pitch + self.choices.loose
        low, high = self.row_at[0], self.row_at[-1]
        out.x.at += [-4 * margin, self.column_at[-1] + 4 * margin]
        out.y.at += [low - 2 * margin, high + 2 * margin, low, high, 0]
        self._keep_sorts_apart()
        edges = self._edges()
        for a, b, _ in edges:
            self._tie(a, b)
        for stand in grid.floor.stands:
            inner, outer = grid.ends_of(stand)
            self.tied_x.join(inner, outer)
            self.tied_x.join(inner, inner + grid.size)
        # A wire that leaves from the middle of another stays with it.
        self.stops |= self.cuts | {node for tree in self.trees.values() for node, _ in tree.exits}
        for number, strip in enumerate(grid.floor.strips):
            self.lanes[strip] = self._lane(strip)
            draw_strip(out, self.lanes[strip], UPPER * strip.row - 10 - number)
        self._stands()
        self._wires(edges)
        for net, tree in self.trees.items():
            for node, side in tree.exits:
                self._exit(net, node, side)
        for node, net, region in self.contacts:
            self._landing(node, net, region)
        self._frame(cuts)
        return out

    def _keep_sorts_apart(self) -> None:
        gaps, t = self.out.gaps, self.technique
        gaps += [Gap(sort, sort, wire.spacing + self.choices.loose) for sort, wire in zip(WIRES, t.wires, strict=False)]
        gaps += [Gap(Sort.DIFFUSION, Sort.DIFFUSION, t.diffusion_spacing), Gap(Sort.BELOW, Sort.DIFFUSION, t.other_gap)]
        if t.rings is not None:
            gaps += [Gap(Sort.RING, sort, t.rings.gap) for sort in (Sort.BELOW, Sort.DIFFUSION)]

    def _frame(self, cuts: rails.Cuts) -> None:
        """Draw rails and rings, and keep all else between them."""
        out, t, grid, rows = self.out, self.technique, self.grid, self.grid.rows
        rails.draw_rails(out, grid, cuts, self.column_at)
        if t.rings is not None:
            below = self.row_at[rows.barrier - 1] + t.wires[OTHER].pad // 2 + t.rings.gap + t.rings.width // 2
            rails.draw_rings(out, t.rings, grid.supplies, below)
        rails.keep_inside(out, grid, {side for tree in self.trees.values() for _, side in tree.exits})
        rails.keep_between_rails(out, grid, self.lines_y.values(), self.lanes.values())
        out.y.at[Line.WELL] = (self.row_at[rows.between[0]] + self.row_at[rows.between[-1]]) // 2

    def _edges(self) -> list[tuple[int, int, int]]:
        fixed = self.grid.fixed
        edges = [(a, b, net) for net, own in fixed.items() for a, b in own]
        edges += [(a, b, net) for net, tree in self.trees.items() for a, b in tree.edges - fixed.get(net, set())]
        return sorted(edges)

    def _tie(self, a: int, b: int) -> None:
        step = b - a
        if step != 1:
            self.tied_x.join(a, b)
        if step != self.grid.columns:
            self.tied_y.join(a, b)
        if step >= self.grid.size:
            self.cuts |= {a, b}

    def x(self, node: int) -> int:
        """Return the line on which a node hangs in x, that of all nodes tied to it."""
        root = self.tied_x.find(node)
        if root not in self.lines_x:
            self.lines_x[root] = self.out.x.line(self.column_at[self.grid.place(node)[2]])
        return self.lines_x[root]

    def y(self, node: int) -> int:
        row = self.grid.place(node)[1]
        if row in (0, self.grid.rows.count - 1):
            return Line.RAILS[row > 0]
        root = self.tied_y.find(node)
        if root not in self.lines_y:
            self.lines_y[root] = self.out.y.line(self.row_at[row])
        return self.lines_y[root]

    def _lane(self, strip: Strip) -> Lane:
        """Say how a strip lies, and where its contacts are."""
        t, out, grid, reach = self.technique, self.out, self.grid, self.technique.body // 2
        block, height, loose = grid.rows.lying(strip.row), self.choices.widths[strip.row], self.choices.loose
        middle = (self.row_at[block[0]] + self.row_at[block[-1]]) // 2
        contacts: dict[Region, dict[tuple[int, bool], None]] = {region: {} for region in strip.regions}
        for node, _, region in sorted(self.contacts, key=lambda own: (grid.place(own[0])[2], own[0])):
            if region in contacts:
                contacts[region][self.x(node), node >= grid.size] = None
        return Lane(
            strip,
            t,
            left=out.x.line(self.column_at[strip.regions[0].columns[0]] - reach),
            right=out.x.line(self.column_at[strip.regions[-1].columns[-1]] + reach),
            line=out.y.line(middle - start_of(strip, t, height, loose)),
            height=height,
            loose=loose,
            gates={gate: self.x(grid.gate_nodes(strip, gate)[0]) for gate in strip.gates},
            contacts={region: list(own) for region, own in contacts.items()},
            drawn_in=strip.row in self.bent - self.stepped and not t.bulk,
        )

    def _stands(self) -> None:
        landed = {region for _, _, region in self.contacts}
        for number, stand in enumerate(self.grid.floor.stands):
            inner, outer = self.grid.ends_of(stand)
            lines = self.y(inner), self.y(outer), self.y(inner + self.grid.size)
            net = UPPER * stand.device.row - 500 - number
            draw_stand(self.out, stand, net, self.x(inner), lines, landed=stand.inner in landed)

    def _wires(self, edges: Iterable[tuple[int, int, int]]) -> None:
        size, columns = self.grid.size, self.grid.columns
        upright: dict[int, int] = {}
        level: dict[int, int] = {}
        for a, b, net in edges:
            if b - a >= size:
                self._contact(a, b, net)
            else:
                (upright if b - a == columns else level)[a] = net
        ends = [{n for a in way for n in (a, a + step)} for way, step in ((upright, columns), (level, 1))]
        self.stops |= ends[0] & ends[1]
        for run in _runs(level, 1):
            self._level(run, level[run[0]])
            if self._bends(run, upright, columns):
                self.out.x.bends.append((self.x(run[0]), self.x(run[-1])))
        for run in _runs(upright, columns):
            self._upright(run, upright[run[0]])
            if self._bends(run, level, 1):
                self.out.y.bends.append((self.y(run[0]), self.y(run[-1])))

    def _bends(self, run: Sequence[int], across: Collection[int], step: int) -> bool:
        """Tell whether a run only joins its two ends, which do not both go on to the same side."""
        first, last = run[0], run[-1]
        if any(node in self.stops for node in run[1:-1]):
            return False
        same = (first in across and last in across) or (first - step in across and last - step in across)
        return not same and (first not in self.cuts or last not in self.cuts)

    def _half(self, node: int) -> int:
        """Return half the width of a wire on a node's layer."""
        return self.technique.wires[self.grid.place(node)[0]].width // 2

    def _held(self, run: Sequence[int]) -> list[int]:
        """Return the nodes of a run that need lines: its ends, and those at which something hangs."""
        return [node for node in run if node in (run[0], run[-1]) or node in self.stops]

    def _level(self, run: Sequence[int], net: int) -> None:
        lines, half = [self.x(node) for node in self._held(run)], self._half(run[0])
        self.out.x.order(lines)
        self._wire(run[0], net, grown(((lines[0], 0), (lines[-1], 0)), half), about(self.y(run[0]), half))

    def _upright(self, run: Sequence[int], net: int) -> None:
        """Draw a vertical wire in the stretches between device rows; in a device row the gate itself is the wire."""
        pieces = [(strip, list(nodes)) for strip, nodes in itertools.groupby(run, self.strip_of.get)]
        ends = [None, *(strip for strip, _ in pieces), None]
        for (strip, nodes), below, above in zip(pieces, ends, ends[2:], strict=False):
            if strip is None:
                self._stretch(nodes, net, below, above)

    def _stretch(self, nodes: Sequence[int], net: int, below: Strip | None, above: Strip | None) -> None:
        """Draw a piece of an upright wire, from the gate below it to the gate above it."""
        y, half = self.out.y, self._half(nodes[0])
        lines = [self.y(node) for node in self._held(nodes)]
        y.order(lines)
        low, high = grown(((lines[0], 0), (lines[-1], 0)), half)
        if below is not None:
            _, low = self.lanes[below].whole
            y.keep(low[0], lines[0], low[1])
        if above is not None:
            high, _ = self.lanes[above].whole
            y.keep(lines[-1], high[0], 0)
        self._wire(nodes[0], net, about(self.x(nodes[0]), half), (low, high))

    def _wire(self, node: int, net: int, x: Span, y: Span, *, solid: bool = False) -> None:
        """Add a wire, or a `solid` landing; a crossunder through an island is doped."""
        layer = self.grid.place(node)[0]
        self.out.box(Paint(self._mask(node), WIRES[layer], net), x, y, solid=solid)
        doped = self.technique.doped
        if layer == OTHER and doped is not None and doped.island:
            self.out.box(Paint(doped.doping[self.choices.under]), grown(x, doped.past), grown(y, doped.past))

    def _mask(self, node: int) -> str:
        """Return a wire's mask layer; in bulk silicon a crossunder is doped unlike what it lies in."""
        layer, row, _ = self.grid.place(node)
        mask, doped = self.technique.wires[layer].layer, self.technique.doped
        return mask if mask or doped is None else doped.doping[row >= self.grid.rows.barrier]

    def _pad(self, node: int, net: int, x: Edge, y: Edge, longer: tuple[int, int] = (0, 0)) -> None:
        """Draw a landing about a place, `longer` across and up each way."""
        half = self.technique.wires[self.grid.place(node)[0]].pad // 2
        spans = about(x[0], half + longer[0], x[1]), about(y[0], half + longer[1], y[1])
        self._wire(node, net, *spans, solid=True)

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
            free = all(n not in self.used and grid.owner[n] == FREE for n in (node + side, node + side + grid.size))
            if free and 0 < column + side < grid.columns - 1:
                return side
        return 0

    def _landing(self, node: int, net: int, region: Region) -> None:
        """Join metal, or poly by a buried contact, and a source or drain."""
        t, out = self.technique, self.out
        x, y = self.x(node), self.y(node)
        lane = next((lane for lane in self.lanes.values() if region in lane.contacts), None)
        if lane is None:  # an end of a standing load
            self._pad(node, net, (x, 0), (y, 0))
            out.cut((x, 0), (y, 0))
            return
        if node >= self.grid.size:
            self._burial(node, lane)
            return
        line, row, cuts = lane.line, lane.strip.row, self.choices.cuts
        most = cuts.straps if net == self.grid.supplies[row] else cuts.ends
        low, high = lane.pocket(region)
        start = max(low, min(out.y.at[y] - out.y.at[line], lane.height - high))
        alone = len(self.grid.rows.lying(row)) == 1 and row not in self.stepped
        count = fitting(low, start, lane.height - high, most, t) if alone else 1
        reach = (count - 1) * t.contact
        self._pad(node, net, (x, 0), (y, 0), (0, reach))
        for far in offsets(count, t):
            out.cut((x, 0), (y, far))
        out.y.rules += [(line, y, low + reach), (y, line, high + reach - lane.height)]

    def _burial(self, node: int, lane: Lane) -> None:
        """Cover the end of a poly wire on a diffusion with a buried contact."""
        t, x, y = self.technique, self.x(node), self.y(node)
        assert t.buried is not None
        half, past = t.wires[OTHER].width // 2, t.buried.past
        inset = max(half, t.buried.overlap - half)
        self.out.y.rules += [(lane.line, y, inset), (y, lane.line, inset - lane.height)]
        edges = {edge for tree in self.trees.values() if node in tree.nodes for edge in tree.edges if node in edge}
        (below, above), (low, high) = about(y, half + past), grown(lane.whole, past)
        low = low if any(a != node for a, _ in edges) else below
        high = high if any(b != node for _, b in edges) else above
        self.out.box(Paint(t.buried.layer), about(x, half + past), (low, high))

    def _exit(self, net: int, node: int, side: str) -> None:
        """Run a wire out to the border and name it there; with landings it ends as broad as a contact needs."""
        (axis, border), half = BORDERS[side], self._half(node)
        inward = -1 if border else 1
        run = [about(self.x(node), half), about(self.y(node), half)]
        run[axis] = (run[axis][0], (border, 0)) if border else ((border, 0), run[axis][1])
        self._wire(node, net, *run)
        place = [(self.x(node), 0), (self.y(node), 0)]
        place[axis] = border, inward
        self.out.labels.append((net, self._mask(node), place[X], place[Y]))
        if self.choices.landings and axis == X:
            metal, other = self.technique.wires[:2]  # so far apart that each may dive below the metal right there
            half = max(metal.pad, other.pad + other.spacing - metal.spacing) // 2
            end = span(border, *sorted((0, inward * metal.pad)))
            self.out.box(self.out.wire_paint(METAL, net), end, about(self.y(node), half))


def _runs(starts: Iterable[int], step: int) -> list[list[int]]:
    """Chain edges (node, node + step) into maximal runs of nodes."""
    rest = set(starts)
    runs = [[a] for a in sorted(rest) if a - step not in rest]
    for run in runs:
        while run[-1] in rest:
            run.append(run[-1] + step)
    return runs
