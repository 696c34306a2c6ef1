"""The plan of a whole die as its own netlist and geometry tell it: what its parts are, where they lie, what pads do."""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from itertools import pairwise

from layoutdrill.extract.model import Extraction
from layoutdrill.face import Face
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.process.model import Process
from layoutdrill.question.die_parts import INPUT, OUTPUT, PARTS, SUPPLY, PartWords
from layoutdrill.question.model import Specimen
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.recognise.whole import recognise
from layoutdrill.value import value

EDGES = ("left", "right", "top", "bottom")


@value
class Area:
    """
    A part of the die: its name, its family, its extent, and the extents of the cells that repeat in it, lower left
    first, with the structure that each is.
    """

    name: str
    family: str
    rect: Rect
    cells: tuple[Rect, ...]
    structure: Structure
    repeats: tuple[Structure, ...] = ()

    @property
    def words(self) -> PartWords:
        return PARTS[self.family]

    @property
    def pitch(self) -> int | None:
        """Return the distance of neighbouring cells, in grid units, where it is one and the same for all."""
        starts = [r.x0 if self.level else r.y0 for r in self.cells]
        steps = {b - a for a, b in pairwise(sorted(starts))}
        return steps.pop() if len(steps) == 1 and min(steps) > 0 else None

    @property
    def level(self) -> bool:
        """Whether its cells stand side by side, and not above one another."""
        across = {r.x0 for r in self.cells}
        upright = {r.y0 for r in self.cells}
        return len(across) > len(upright) or (len(across) == len(upright) and self.rect.width > self.rect.height)


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

    def rows(self, least: int = 3, *, even: bool = False) -> tuple[Area, ...]:
        """
        Return the parts of so many cells at least that are counted; with `even` only those that stand at one pitch, so
        none in which every other row is turned over.
        """
        counted = [area for area in self.areas if area.words.counts and len(area.cells) >= least]
        return tuple(area for area in counted if not even or area.pitch is not None)


def die_plan(specimen: Specimen) -> DiePlan | None:
    """Return the plan of a die; None for a drawing that has no pads. Slow at first, then kept for the last few dies."""
    return _plan_of(specimen.face, specimen.netlist)


@lru_cache(maxsize=3)
def _plan_of(face: Face, netlist: Netlist) -> DiePlan | None:
    scene, process = face.scene, face.process
    opening = next((name for name, layer in process.layers.items() if layer.role == "glass-opening"), "")
    glass = scene.layout.shapes.get(opening, ())
    box = scene.box
    if len(glass) < len(EDGES) or box is None:
        return None
    seen = recognise(netlist)
    areas = [area for structure in seen.structures if (area := _area(face.extraction, structure)) is not None]
    does = pad_uses(seen, process)
    bonds = []
    for rect in sorted(glass):
        net = next((net for _, net in face.extraction.nets_at(*rect.centre)), "")
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


def _area(extraction: Extraction, structure: Structure) -> Area | None:
    name = structure.term
    family = next((family for family in PARTS if family in name), "")
    if not family:
        return None
    words = PARTS[family]
    cells = [part for part in structure.walk() if part is not structure and part.term in words.cells]
    extents = [(part, extent) for part in cells if (extent := _extent(extraction, _field(part, words))) is not None]
    extents.sort(key=lambda cell: cell[1])
    rects = tuple(extent for _, extent in extents)
    whole = bounding_box(rects)
    if whole is None or len(rects) < 2:
        return None
    return Area(name, family, whole, rects, structure, tuple(part for part, _ in extents))


def _field(part: Structure, words: PartWords) -> Iterable[str]:
    """Return the transistors of a repeat that stand in its field."""
    if not words.within:
        return part.transistors
    return [name for inner in part.walk() if inner.term in words.within for name in inner.transistors]


def extent_of(specimen: Specimen, names: Iterable[str]) -> Rect | None:
    """Return the box round the channels of some transistors."""
    return _extent(specimen.extraction, names)


def _extent(extraction: Extraction, names: Iterable[str]) -> Rect | None:
    return bounding_box(r for name in names for r in extraction.channel(name))


def _edge(rect: Rect, box: Rect) -> str:
    x, y = rect.centre
    far: Mapping[str, int] = {"left": x - box.x0, "right": box.x1 - x, "top": box.y1 - y, "bottom": y - box.y0}
    return min(EDGES, key=far.__getitem__)
