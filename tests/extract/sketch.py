"""Small drawings in silicon-gate CMOS (grid 750 nm) for tests of the extractor."""

from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.process import load_process

CMOS = load_process("silicon-gate-cmos")
METAL_GATE = load_process("metal-gate-sapphire")
GRID = 750


class Sketch:
    """A drawing under way: boxes by layer, and pins (a contact under a labelled piece of metal)."""

    def __init__(self, name="sketch"):
        self.name = name
        self.shapes = {}
        self.labels = []

    def put(self, layer, *boxes):
        self.shapes.setdefault(layer, []).extend(Rect(*box) for box in boxes)
        return self

    def pin(self, text, x, y):
        """Put a contact of 2 × 2 centred on the point, metal over it, and its label."""
        self.put("contact", (x - 1, y - 1, x + 1, y + 1)).put("metal", (x - 1, y - 1, x + 1, y + 1))
        return self.label(text, x, y)

    def label(self, text, x, y, layer="metal"):
        self.labels.append(Label(text, layer, x, y))
        return self

    def layout(self):
        return Layout(self.name, {k: tuple(v) for k, v in self.shapes.items()}, tuple(self.labels))

    def read(self, process=CMOS):
        return extract(self.layout(), process)


def nmos(active, poly, gate_at):
    """Return a sketch of n+ diffusion under poly, the poly labelled G at a point, and the substrate tied to VSS."""
    sketch = Sketch().put("active", *active, (-60, -60, -54, -54)).put("poly", *poly)
    sketch.put("nselect", (-50, -50, 80, 80)).put("pselect", (-62, -62, -52, -52))
    return sketch.pin("VSS", -57, -57).label("G", *gate_at, layer="poly")


def inverter():
    """Return an inverter with taps: 6 µm n, 12 µm p, both 3 µm long."""
    sketch = Sketch("inverter")
    sketch.put("nwell", (-4, 30, 40, 60))
    sketch.put("active", (0, 0, 20, 8), (0, 36, 20, 52), (26, 0, 30, 8), (26, 36, 30, 52))
    sketch.put("nselect", (-2, -2, 22, 10), (24, 34, 32, 54)).put("pselect", (-2, 34, 22, 54), (24, -2, 32, 10))
    sketch.put("poly", (8, -4, 12, 56))
    sketch.put("contact", (2, 2, 6, 6), (14, 2, 18, 6), (2, 40, 6, 44), (14, 40, 18, 44), (26, 2, 30, 6))
    sketch.put("contact", (26, 40, 30, 44), (8, 20, 12, 24))
    sketch.put("metal", (0, -2, 7, 8), (13, 0, 19, 50), (0, 36, 7, 60), (0, 60, 40, 64), (0, -8, 40, -2))
    sketch.put("metal", (26, -2, 30, 8), (26, 36, 30, 60), (-10, 20, 12, 24))
    sketch.label("Y", 15, 25).label("A", -5, 22).label("VDD", 3, 62).label("VSS", 3, -5)
    return sketch


def kinds(extraction):
    return [finding.kind.value for finding in extraction.findings]


def device_lines(extraction):
    return [line for line in extraction.netlist.text().splitlines() if "gate=" in line]
