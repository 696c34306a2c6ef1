"""Read a netlist out of a layout: the chain from rectangles to named devices."""

from layoutdrill.extract.devices import RawTransistor, gather_sides, transistors
from layoutdrill.extract.drawn import Drawn
from layoutdrill.extract.elements import elements
from layoutdrill.extract.forms import elements_of, find_forms
from layoutdrill.extract.materials import plan_for
from layoutdrill.extract.model import Extraction, Finding, FindingKind
from layoutdrill.extract.naming import Names, name_nets
from layoutdrill.extract.pieces import Pieces
from layoutdrill.extract.result import LayoutExtraction
from layoutdrill.extract.wiring import Wiring, connect, gather
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.geometry.regions import components
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.collector import collector_paused
from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.netlist.number import micrometres
from layoutdrill.process.model import Process


def extract(layout: Layout, process: Process) -> Extraction:
    """
    Extract the netlist from mask layers and port labels alone.

    L is the distance between the source's and the drain's edge, W the mean length of those edges; where a channel
    is bent, closed or stepped, L is its area over W. Oddities come back as findings, located on the drawing.
    """
    with collector_paused():
        return _extract(layout, process)


def _extract(layout: Layout, process: Process) -> Extraction:
    plan = plan_for(process)
    drawn = Drawn(layout, plan.layers)
    pieces = Pieces(plan, drawn)
    wiring = gather(pieces)
    sides = gather_sides(wiring)
    wiring.abutments.clear()
    forms = find_forms(wiring, process)
    connect(wiring, process, pieces)
    formed, many = elements_of(wiring, forms)
    raw, findings = transistors(wiring, process, pieces, sides)
    raw_elements, odd = elements(wiring, process, pieces, sides)
    raw_elements += formed
    findings += odd + many
    wiring.settle()
    find = wiring.parent.__getitem__
    nodes = wiring.nodes
    raw.sort(key=lambda t: min(nodes[n] for n in t.channel))
    raw_elements.sort(key=lambda e: min(nodes[n] for n in e.body))
    terminals: dict[int, int] = {}
    ends: set[int] = set()
    for t in raw:
        for node in (t.source, t.drain):
            ends.add(find(node))
        for node in (t.gate, t.source, t.drain):
            terminals[find(node)] = terminals.get(find(node), 0) + 1
    for e in raw_elements:
        for node in e.nodes:
            ends.add(find(node))
            terminals[find(node)] = terminals.get(find(node), 0) + 1
    bodies = {find(t.body) for t in raw if t.body >= 0}
    for root in bodies:
        terminals[root] = terminals.get(root, 0) + 1
    names = name_nets(wiring, process, layout.labels, terminals, bodies)
    findings += names.findings
    findings += _wiring_findings(wiring, names)
    findings += _unread(pieces)
    ends |= _bare(layout, process, wiring)
    channels: dict[str, tuple[int, ...]] = {}
    devices = []
    for number, t in enumerate(raw, 1):
        device = _transistor(f"M{number}", t, wiring, names, process)
        channels[device.name] = t.channel
        devices.append(device)
        gate = find(t.gate)
        if gate not in ends and device.gate not in names.ports and gate not in bodies:
            ends.add(gate)
            problem = f"the gate of {device.name} hangs on nothing that could drive it (net {device.gate})"
            findings.append(Finding(FindingKind.FLOATING_GATE, problem, Rect(*nodes[t.channel[0]][:4])))
    others = []
    for number, e in enumerate(raw_elements, 1):
        letter = {"resistor": "R", "diode": "D", "capacitor": "C"}[e.rule.kind]
        name = f"{letter}{number}"
        values = tuple((key, _value(key, value, process)) for key, value in e.values)
        leads = tuple(names.of[find(n)] for n in e.nodes)
        others.append(Element(name, e.rule.kind, e.rule.model, leads, values))
        channels[name] = e.body
    netlist = Netlist(layout.name, names.ports, tuple(devices), tuple(others))
    ordered = tuple(sorted(findings, key=lambda f: (f.place, f.kind, f.text)))
    return LayoutExtraction(netlist, ordered, process, wiring, channels, names.of)


def _bare(layout: Layout, process: Process, wiring: Wiring) -> set[int]:
    """Return the nets that lie bare under openings of the glass: a bond wire or a probe may drive them."""
    masks = [name for name, layer in process.layers.items() if layer.role == "glass-opening"]
    openings = [r for mask in masks for r in layout.shapes.get(mask, ())]
    return {
        wiring.parent[number]
        for opening in openings
        for number, (x0, y0, x1, y1, *_) in enumerate(wiring.nodes)
        if x0 < opening.x1 and opening.x0 < x1 and y0 < opening.y1 and opening.y0 < y1
    }


def _transistor(name: str, t: RawTransistor, wiring: Wiring, names: Names, process: Process) -> Transistor:
    find, of = wiring.find, names.of
    scale = process.grid_nm
    return Transistor(
        name,
        t.rule.kind,
        of[find(t.gate)],
        of[find(t.source)],
        of[find(t.drain)],
        of[find(t.body)] if t.body >= 0 else "",
        round(t.length * scale),
        round(t.width * scale),
        t.rule.mode,
    )


def _value(key: str, value: float, process: Process) -> str:
    """Write a length in µm, an area in pm² (1 µm² is 1 pm² in the prefixes of SPICE: `0.435p` m²)."""
    if key == "AREA":
        return f"{value * (process.grid_nm / 1000) ** 2:.9g}p"
    return micrometres(round(value * process.grid_nm))


def _wiring_findings(wiring: Wiring, names: Names) -> list[Finding]:
    findings = [
        Finding(FindingKind.STRAY_CUT, f"a {layer} that joins nothing", Rect(*hole[:4]))
        for layer, hole in wiring.stray_cuts
    ]
    meetings: dict[tuple[int, int], list[Rect]] = {}
    for a, b in wiring.junctions:
        n, p = (a, b) if wiring.plan.doping[wiring.material[a]] == "n" else (b, a)
        nets = wiring.parent[n], wiring.parent[p]
        if nets[0] != nets[1]:  # edge to edge, or one area with both dopings
            (ax0, ay0, ax1, ay1, _), (bx0, by0, bx1, by1, _) = wiring.nodes[a], wiring.nodes[b]
            x0, y0 = max(ax0, bx0), max(ay0, by0)
            edge = Rect(x0, y0, max(min(ax1, bx1), x0 + 1), max(min(ay1, by1), y0 + 1))
            meetings.setdefault(nets, []).append(edge)
    for (n, p), edges in meetings.items():
        called = [f"net {names.of[root]}" if root in names.of else "a resistor's strip" for root in (n, p)]
        problem = f"n+ of {called[0]} meets p+ of {called[1]} and no metal straps them: a diode"
        findings.append(Finding(FindingKind.JUNCTION, problem, box_round(edges)))
    return findings


def _unread(pieces: Pieces) -> list[Finding]:
    gate = "a gate over an area that is neither an n nor a p channel here: doping or well does not fit"
    bare = "diffusion that is neither n+ nor p+ here, read as nothing: implant or well does not fit"
    return [
        Finding(kind, problem, box_round([areas[i] for i in part]))
        for kind, problem, areas in (
            (FindingKind.UNREAD_GATE, gate, pieces.unread),
            (FindingKind.UNDOPED, bare, pieces.undoped),
        )
        for part in components(areas)
    ]
