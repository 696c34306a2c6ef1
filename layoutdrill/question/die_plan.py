"""The plan of a whole die as its own netlist and geometry tell it: what its parts are, where they lie, what pads do."""

from collections.abc import Iterable, Mapping

from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.netlist.roles import Role
from layoutdrill.process.model import Process
from layoutdrill.question.model import Specimen
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.recognise.whole import recognise
from layoutdrill.value import value

EDGES = ("left", "right", "top", "bottom")
CELLS = {
    "decoder": ("decoder column", "decoder row"),
    "register row": ("register bit",),
    "FIFO": ("latch", "SR latch", "register row"),
    "ripple counter": ("counter bit", "toggle flip-flop"),
}
"""What lies in a part itself, and not in the gates about it, by the part's family."""
INPUT, OUTPUT, SUPPLY = "input", "output", "supply"


@value
class Area:
    """A part of the die: its name, its family, its extent, and the extents of the cells that repeat in it."""

    name: str
    family: str
    rect: Rect
    cells: tuple[Rect, ...]
    structure: Structure


@value
class Bond:
    """A pad: the net on it, its opening in the glass, the edge that it stands at, and what it does."""

    net: str
    rect: Rect
    edge: str
    does: str


@value
class DiePlan:
    """`areas` are the parts that repeat, `bonds` the pads."""

    recognition: Recognition
    areas: tuple[Area, ...]
    bonds: tuple[Bond, ...]

    def area(self, family: str) -> Area | None:
        return next((area for area in self.areas if area.family == family), None)


def die_plan(specimen: Specimen) -> DiePlan | None:
    """Return the plan of a die; None for a drawing that has no pads."""
    scene = specimen.face.scene
    opening = next((name for name, layer in specimen.process.layers.items() if layer.role == "glass-opening"), "")
    glass = scene.layout.shapes.get(opening, ())
    box = scene.box
    if len(glass) < len(EDGES) or box is None:
        return None
    seen = recognise(specimen.netlist)
    areas = [area for structure in seen.structures if (area := _area(specimen, structure)) is not None]
    does = pad_uses(seen, specimen.process)
    bonds = []
    for rect in sorted(glass):
        net = next((net for _, net in specimen.extraction.nets_at(*rect.centre)), "")
        if net in does:
            bonds.append(Bond(net, rect, _edge(rect, box), does[net]))
    return DiePlan(seen, tuple(areas), tuple(bonds))


def pad_uses(seen: Recognition, process: Process) -> dict[str, str]:
    """Return what is done with each pin, by its net: an input is protected, an output driven by a wide pair."""
    does = dict.fromkeys(process.supplies, SUPPLY)
    for structure in seen.all():
        if structure.term == "output pad":
            does |= {net: OUTPUT for net in structure.nets(Role.OUTPUT) if net in seen.netlist.ports}
        if structure.term == "input protection":
            does |= {net: INPUT for net in structure.nets(Role.INPUT) if net in seen.netlist.ports}
    return does


def _area(specimen: Specimen, structure: Structure) -> Area | None:
    name = structure.term
    family = next((family for family in CELLS if family in name), "")
    if not family:
        return None
    cells = [part for part in structure.walk() if part is not structure and part.term in CELLS[family]]
    if family == "FIFO":
        cells = [part for part in structure.parts if part.term == "FIFO slice"]
        inside = [[p for p in part.walk() if p.term in CELLS[family]] for part in cells]
        extents = [_extent(specimen, (name for p in own for name in p.transistors)) for own in inside]
    else:
        extents = [_extent(specimen, part.transistors) for part in cells]
    rects = tuple(r for r in extents if r is not None)
    whole = bounding_box(rects)
    return Area(name, family, whole, rects, structure) if whole is not None and len(rects) > 1 else None


def _extent(specimen: Specimen, names: Iterable[str]) -> Rect | None:
    return bounding_box(r for name in names for r in specimen.extraction.channel(name))


def _edge(rect: Rect, box: Rect) -> str:
    x, y = rect.centre
    far: Mapping[str, int] = {"left": x - box.x0, "right": box.x1 - x, "top": box.y1 - y, "bottom": y - box.y0}
    return min(EDGES, key=far.__getitem__)
