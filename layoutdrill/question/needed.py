"""What it takes to read a drawing, as facts that a picture must show; and what may be told in their place."""

from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene, Wire
from layoutdrill.face.unit import part_of, whereabouts
from layoutdrill.geometry.sweep import meeting
from layoutdrill.picture.evidence import Fact
from layoutdrill.question.model import Specimen
from layoutdrill.question.rail_groups import rail_of
from layoutdrill.units import GridUnits


def tracing(scene: Scene) -> frozenset[Fact]:
    """Return what it takes to follow nets on this drawing."""
    needed = {Fact.CONTACT}
    below = {c.lower.material for c in scene.crossings}
    if below & {Material.DIFFUSION, Material.TAP, Material.RING}:
        needed.add(Fact.UNDER_METAL)
    if Material.POLY in below:
        needed.add(Fact.POLY_UNDER_METAL)
    if _along(scene):
        needed.add(Fact.POLY_ALONG_METAL)
    if any(j.material is Material.METAL for j in scene.joints):
        needed.add(Fact.VIA)
    if scene.has("buried-contact"):
        needed.add(Fact.BURIED_CONTACT)
    return frozenset(needed) | covered_gates(scene)


ALONG = 6
"""λ of a strip of poly below a wire of its own direction that a reader must know of from the ridge alone."""


def _along(scene: Scene) -> bool:
    """Tell whether poly runs along below a wire anywhere."""
    far = ALONG * scene.unit
    boxes = [w.rect for w in scene.wires]
    of = {material: [i for i, w in enumerate(scene.wires) if w.material is material] for material in Material}
    for i, j in meeting(boxes, of[Material.POLY], of[Material.METAL]):
        strip, wire = boxes[i], boxes[j]
        both = strip.common(wire)
        if both is None:
            continue
        across = both.width >= far and both.height >= min(strip.height, wire.height)
        down = both.height >= far and both.width >= min(strip.width, wire.width)
        if across or down:
            return True
    return False


def covered_gates(scene: Scene) -> frozenset[Fact]:
    """Return that gates under a wire must show, where there are any."""
    if scene.metal_gate:
        return frozenset()
    metal = [w.rect for w in scene.wires if w.material is Material.METAL]
    for rects in scene.channels.values():
        if any(r.overlaps(m) for r in rects for m in metal):
            return frozenset({Fact.GATE_UNDER_METAL})
    return frozenset()


def below_upper(scene: Scene, x: GridUnits, y: GridUnits) -> frozenset[Fact]:
    """Return that what lies under the upper metal must show, where a point is covered by one."""
    roles = ("metal-2", "upper-metal", *(("metal",) if scene.has("local-metal") else ()))
    return frozenset({Fact.UNDER_UPPER}) if scene.covered_by(roles, x, y) else frozenset()


def rails_told(specimen: Specimen) -> tuple[str, ...] | None:
    """Tell which wire is which rail, high first; None where one of them has no metal."""
    face = specimen.face
    low, high = face.process.supplies
    telling = []
    for rail in (high, low):
        wires = [w for w in face.scene.wires if w.net == rail and w.material is Material.METAL]
        if not wires:
            return None
        at = max(wires, key=_size).rect.centre
        telling.append(f"{rail} is the wire {whereabouts(face.box, *at)} ({face.unit.at(*at)}).")
    return tuple(telling)


def _size(wire: Wire) -> tuple[int, int, int]:
    return max(wire.rect.width, wire.rect.height), wire.rect.x0, wire.rect.y0


def wells_told(specimen: Specimen) -> tuple[str, ...] | None:
    """Tell where the wells lie that a lot hardly tints; None where there is none."""
    unit, box = specimen.face.unit, specimen.face.box
    title, rects = specimen.face.scene.wells
    areas = [
        f"{part_of(box, r)} (from {unit.at(r.x0, r.y0)} to {unit.at(r.x1, r.y1)})"
        for r in sorted(set(rects))[:_MOST_WELLS]
    ]
    return (f"The {title} is too faint to see here; it fills {' and '.join(areas)}.",) if areas else None


_MOST_WELLS = 4
"""More wells than this are not told one by one."""


def strips_told(specimen: Specimen) -> tuple[str, ...]:
    """Tell that a resistor parts two nets, where the circuit has one; which strip it is stays to be seen."""
    if not any(e.kind == "resistor" for e in specimen.netlist.elements):
        return ()
    return ("A strip drawn for its length is a resistor: the nets at its two ends are two.",)


def row_told(specimen: Specimen) -> tuple[str, ...] | None:
    """Tell the kind of one transistor that stands on a rail's row; the learner must still follow it to the rail."""
    face = specimen.face
    for t in face.extraction.netlist.transistors:
        if rail_of(face.scene, t.name) is not None:
            x, y = face.scene.channels[t.name][0].centre
            return (f"The transistor {whereabouts(face.box, x, y)} ({face.unit.at(x, y)}) is {t.kind}.",)
    return None


def rows_on_rails(scene: Scene) -> bool:
    """Tell whether every transistor stands in a row that hangs on one rail, so that the rails tell its kind."""
    return all(rail_of(scene, name) is not None for name in scene.channels)
