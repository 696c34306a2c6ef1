"""What each sight is mistaken for, and the feature that decides, in words."""

from layoutdrill.question.sight import Sight

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
    Sight.CONTACT: "A small square inside the diffusion, with a border of metal round it and a dimple in the metal.",
    Sight.CROSSING: "The diffusion runs on unbroken under the metal, with thick oxide between: no contact, no gap.",
    Sight.CROSSUNDER: "A strip of diffusion that touches no gate, with a contact at each end: a wire below the metal.",
}
_SILICON_GATE = {
    Sight.TRANSISTOR: "Poly over diffusion is always a gate, and the poly pokes out on both sides.",
    Sight.CONTACT: "A small square with a rim, where metal lies over poly or diffusion; without it they only cross.",
    Sight.CROSSING: "Metal passes over another wire with no contact between them: that is only a crossing.",
    Sight.CROSSUNDER: "A strip of diffusion that touches no gate, with a contact at each end: a wire below the metal.",
}
_ANY = {
    Sight.VIA: "It joins two layers of metal; a contact would reach diffusion or poly.",
    Sight.TAP: "A small diffusion with a contact and no gate, doped like the well or substrate that it ties to a rail.",
    Sight.RING: "The diffusion closes round a whole group and crosses no gate: it guards, it carries no signal.",
    Sight.DIFFUSION: "Doped silicon beside a gate, with no gate, contact or metal over it here: a source or a drain.",
    Sight.POLY: "Poly with no diffusion below it and no contact: a stretch of wire.",
    Sight.METAL: "Metal alone, smooth and with nothing below it: a stretch of wire.",
    Sight.NOTHING: "No wire, no diffusion, no contact: bare field.",
}


def decides(sight: Sight, *, metal_gate: bool) -> str:
    """Say which feature decides."""
    own = _METAL_GATE if metal_gate else _SILICON_GATE
    return own.get(sight) or _ANY[sight]
