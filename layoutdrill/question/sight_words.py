"""What each sight is mistaken for, and the feature that decides, in words."""

from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene
from layoutdrill.question.sight import Sight, sights_at
from layoutdrill.units import GridUnits

LOOK_ALIKES: dict[Sight, tuple[Sight, ...]] = {
    Sight.TRANSISTOR: (Sight.CROSSING, Sight.CONTACT, Sight.CROSSUNDER, Sight.VIA, Sight.TAP),
    Sight.CONTACT: (Sight.CROSSING, Sight.TRANSISTOR, Sight.VIA, Sight.TAP, Sight.CROSSUNDER),
    Sight.VIA: (Sight.CONTACT, Sight.CROSSING, Sight.TRANSISTOR, Sight.TAP),
    Sight.CROSSING: (Sight.TRANSISTOR, Sight.CONTACT, Sight.CROSSUNDER, Sight.VIA, Sight.TAP, Sight.NOTHING),
    Sight.CROSSUNDER: (Sight.TRANSISTOR, Sight.CROSSING, Sight.CONTACT, Sight.TAP, Sight.RING, Sight.NOTHING),
    Sight.TAP: (Sight.RING, Sight.CONTACT, Sight.TRANSISTOR, Sight.CROSSUNDER, Sight.CROSSING),
    Sight.RING: (Sight.TAP, Sight.CROSSUNDER, Sight.TRANSISTOR, Sight.CROSSING),
    Sight.DIFFUSION: (Sight.TRANSISTOR, Sight.TAP, Sight.CROSSUNDER, Sight.CONTACT, Sight.CROSSING, Sight.NOTHING),
    Sight.POLY: (Sight.TRANSISTOR, Sight.METAL, Sight.CROSSING, Sight.DIFFUSION, Sight.CONTACT),
    Sight.METAL: (Sight.CROSSING, Sight.CONTACT, Sight.TRANSISTOR, Sight.VIA, Sight.CROSSUNDER),
    Sight.NOTHING: (Sight.DIFFUSION, Sight.CROSSUNDER, Sight.TRANSISTOR, Sight.TAP, Sight.CROSSING),
}
"""The trade's look-alikes first (common practice)."""

WIDER: dict[Sight, tuple[Sight, ...]] = {
    Sight.CROSSUNDER: (Sight.DIFFUSION,),
    Sight.TAP: (Sight.DIFFUSION, Sight.CONTACT),
    Sight.RING: (Sight.DIFFUSION, Sight.TAP),
}
"""Words that are true of a sight but say too little."""

_METAL_GATE = {
    Sight.TRANSISTOR: "Thin oxide bridges a gap between two separate diffusions, and metal lies over the window.",
    Sight.CONTACT: "A small square inside the diffusion, with metal over it and all round it.",
    Sight.CROSSING: "The diffusion runs on unbroken under the metal, with thick oxide between: no contact, no gap.",
    Sight.CROSSUNDER: "A strip of diffusion that touches no gate, with a contact at each end: a wire below the metal.",
}
_SILICON_GATE = {
    Sight.TRANSISTOR: "Poly over diffusion is always a gate, and the poly pokes out on both sides.",
    Sight.CONTACT: "A small square where metal lies over poly or diffusion; without it they only cross.",
    Sight.CROSSING: "Metal passes over another wire with no contact between them: that is only a crossing.",
    Sight.CROSSUNDER: "A strip of diffusion that touches no gate, with a contact at each end: a wire below the metal.",
}
_ANY = {
    Sight.VIA: "It joins two layers of metal; a contact would reach diffusion or poly.",
    Sight.TAP: "On a rail, with a contact and no gate: a small diffusion that ties the well or substrate to that rail.",
    Sight.RING: "The diffusion closes round a whole group and crosses no gate: it guards, it carries no signal.",
    Sight.DIFFUSION: "Doped silicon beside a gate, with no gate, contact or metal over it here: a source or a drain.",
    Sight.POLY: "Poly with no diffusion below it and no contact: a stretch of wire.",
    Sight.METAL: "Metal alone, with nothing below it: a stretch of wire.",
    Sight.NOTHING: "No wire, no diffusion, no contact: bare field.",
}
_UNDER_GLASS = {
    Sight.CONTACT: "On a photograph the metal sinks into it: a dimple with a rim.",
    Sight.VIA: "On a photograph the upper metal sinks into it: a dimple with a rim.",
    Sight.CROSSING: "On a photograph the metal climbs over the lower wire: two lines across it, no closed rim.",
    Sight.METAL: "On a photograph it is smooth, with no step in it.",
}
_WOULD = {
    Sight.CONTACT: "a small square of its own would join metal to the poly or diffusion below it",
    Sight.VIA: "a small square would lie where two layers of metal overlap",
    Sight.CROSSING: "two wires would run on past each other, one over the other, with no square between them",
    Sight.CROSSUNDER: "a strip of diffusion would run from a contact to a contact below the metal and touch no gate",
    Sight.TAP: "a small diffusion with a contact and no gate would lie here, doped like the ground round it",
    Sight.RING: "a strip of diffusion would close round a whole group and cross no gate",
    Sight.DIFFUSION: "doped silicon alone would lie here, with no gate, no contact and no metal on it",
    Sight.POLY: "poly alone would lie here, with no diffusion below it and no contact",
    Sight.METAL: "metal alone would lie here, with nothing below it",
    Sight.NOTHING: "bare field would lie here: no wire, no diffusion, no contact",
}


def decides(sight: Sight, *, metal_gate: bool) -> str:
    """Say which feature decides."""
    own = _METAL_GATE if metal_gate else _SILICON_GATE
    return own.get(sight) or _ANY[sight]


def under_glass(sight: Sight, *, metal_gate: bool) -> str:
    """Say how a sight shows on a photograph, where flat mask colours show it otherwise; else ""."""
    if sight is Sight.TRANSISTOR and metal_gate:
        return "On a photograph the metal lies deep in the window, with an edge all round it."
    return _UNDER_GLASS.get(sight, "")


def would_show(sight: Sight, *, metal_gate: bool) -> str:
    """Say what one would see at a spot were it this."""
    if sight is not Sight.TRANSISTOR:
        return _WOULD[sight]
    if metal_gate:
        return "the diffusion would stop on one side and begin anew on the other, with metal over the gap"
    return "poly would lie across diffusion, and poke out on both sides"


def lying(scene: Scene, x: GridUnits, y: GridUnits) -> str:
    """Say in a clause what lies at a point, layer over layer, and whether it is joined."""
    truths = sights_at(scene, x, y)
    names = [scene.materials[name] for name, _ in scene.extraction.nets_at(x, y)]
    layers = [str(material) for material in Material if material is not Material.WELL and material in names]
    over = " over ".join(layers)
    if Sight.TRANSISTOR in truths:
        return "metal bridges a gap in the diffusion" if scene.metal_gate else "poly lies across diffusion"
    if Sight.CONTACT in truths:
        return f"a contact joins {' and '.join(layers)}" if len(layers) > 1 else "there is a contact"
    if Sight.VIA in truths:
        return "a via joins metal and metal"
    if Sight.CROSSUNDER in truths and len(layers) < 2:
        return "a strip of diffusion runs from a contact to a contact"
    if Sight.RING in truths:
        return "a strip of diffusion closes round a group, and no gate crosses it"
    if Sight.TAP in truths:
        return "a small diffusion has a contact and no gate"
    if len(layers) > 1:
        return f"there is {over}, and no square that joins them"
    if names.count(Material.METAL) > 1:
        return "metal passes over metal, and no square joins them"
    return f"there is {over} and nothing else" if over else "there is bare field"


def no_crossunder(scene: Scene, x: GridUnits, y: GridUnits) -> str:
    """Say in a clause why the strip of diffusion at a point is no crossunder; "" where none lies there."""
    strips = [p for p in scene.pieces if p.material is Material.DIFFUSION and any(r.contains(x, y) for r in p.rects)]
    if not strips:
        return ""
    if strips[0].transistors:
        return "the strip leads to a gate, so it is an end of a transistor"
    return {0: "the strip has no contact", 1: "the strip has one contact only"}.get(strips[0].joints, "")
