"""
The evidence rule for questions: what a look does not show is told with the question, or the question is refused.

Each question needs certain facts. A hidden one is told where that leaves something to read (which rail is which, of
which kind one row is); where telling it would be the answer, or it cannot be told in a line, the question is refused.
"""

from dataclasses import replace
from random import Random

from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.evidence import TEXT, Fact, Sight, facts_of, shown, visible
from layoutdrill.picture.looks import Look
from layoutdrill.question.coordinates import in_lambda, whereabouts
from layoutdrill.question.keys import texts
from layoutdrill.question.materials import Material
from layoutdrill.question.model import Question, QuestionKind, Specimen
from layoutdrill.question.rail_groups import rail_of
from layoutdrill.question.scene import Scene, Wire, scene_of
from layoutdrill.question.shades import shades_told

_SUPPLY = frozenset({Fact.KIND, Fact.RAILS, Fact.KINDS_APART, Fact.WELL})
TRIES = 8
"""How often a kind is asked anew for a question that the look allows."""
_ALWAYS = {
    "name": frozenset({Fact.CONTACT, Fact.GATE}),
    "rails": frozenset({Fact.CONTACT}),
    "same net": frozenset({Fact.CONTACT}),
}
"""What every question of a kind needs and cannot be told: where a look hides it, none need be made."""


class HiddenFactError(LayoutdrillError):
    """The look does not show what the question asks for, and telling it would be the answer."""


def needs(question: Question) -> frozenset[Fact]:
    """Return the facts that the picture must show for this very question to be answered from it."""
    scene = scene_of(question.specimen)
    key = question.key
    kind = question.kind
    if kind == "name":
        return _tracing(scene) | {Fact.GATE, Fact.KIND}
    if kind == "count":
        return _counting(scene, str(key["what"]), single=bool(key.get("single")))
    if kind == "spot":
        return frozenset().union(*(_spot(scene, truth) for truth in texts(key, "truths")))
    if kind == "point":
        return _pointing(scene, str(key["target"]))
    if kind == "rails":
        told_by = {"kind": {Fact.GATE, Fact.KIND}, "taps": {Fact.TAP, Fact.WELL}, "load": {Fact.GATE}}
        return frozenset({Fact.CONTACT, *told_by[str(key["feature"])]})
    if kind == "same net":
        return _tracing(scene) | (frozenset({Fact.GATE}) if key.get("gates") else frozenset())
    if kind == "polarity":
        feature = str(key["feature"])
        if feature == "gate":
            return _tracing(scene)
        return frozenset({Fact.WELL} if feature == "well" else {Fact.RAILS, Fact.CONTACT})
    return frozenset()


def _tracing(scene: Scene) -> frozenset[Fact]:
    """What it takes to follow nets on this drawing."""
    found = {Fact.CONTACT}
    below = {c.lower.material for c in scene.crossings}
    if below & {Material.DIFFUSION, Material.TAP, Material.RING}:
        found.add(Fact.UNDER_METAL)
    if Material.POLY in below:
        found.add(Fact.POLY_UNDER_METAL)
    if any(j.material is Material.METAL for j in scene.joints):
        found.add(Fact.VIA)
    if any(layer.role == "buried-contact" and name in scene.layout.shapes for name, layer in
           scene.process.layers.items()):  # fmt: skip
        found.add(Fact.BURIED_CONTACT)
    return frozenset(found) | _covered(scene)


def _covered(scene: Scene) -> frozenset[Fact]:
    """Gates under a wire matter where there are any."""
    if scene.metal_gate:
        return frozenset()
    metal = [w.rect for w in scene.wires if w.material is Material.METAL]
    for rects in scene.channels.values():
        if any(r.overlaps(m) for r in rects for m in metal):
            return frozenset({Fact.GATE_UNDER_METAL})
    return frozenset()


def _counting(scene: Scene, what: str, *, single: bool) -> frozenset[Fact]:
    if what == "contacts":
        return frozenset({Fact.CONTACT})
    if what == "crossings":
        return _tracing(scene) | {Fact.GATE}
    kind = frozenset() if single or what == "stripes" else frozenset({Fact.KIND})
    return _covered(scene) | kind | {Fact.GATE}


def _spot(scene: Scene, truth: str) -> frozenset[Fact]:
    """A thing that is there must show; to say that there is none of them, all must show where they are."""
    found = {
        "transistor": {Fact.GATE, *_covered(scene)},
        "contact": {Fact.CONTACT},
        "via": {Fact.VIA},
        "crossing": {Fact.GATE, *_tracing(scene)},
        "crossunder": {Fact.CONTACT, Fact.GATE, Fact.UNDER_METAL},
        "tap": {Fact.CONTACT, Fact.GATE},
        "guard ring": {Fact.GATE, Fact.UNDER_METAL},
    }
    under = {Fact.UNDER_METAL, Fact.POLY_UNDER_METAL} if truth == "metal" else set()
    return frozenset(found.get(truth, {Fact.GATE, Fact.CONTACT, *under}))


def _pointing(scene: Scene, target: str) -> frozenset[Fact]:
    gate = _covered(scene) | {Fact.GATE}
    if target in ("n transistor", "p transistor"):
        return gate | {Fact.KIND}
    if target in scene.process.supplies:
        return frozenset({Fact.CONTACT, Fact.RAILS})
    if target.startswith("gate of ") or target in ("output", "load"):
        return gate | _tracing(scene)
    if target == "contact":
        return frozenset({Fact.CONTACT})
    if target == "crossing":
        return gate | _tracing(scene)
    return frozenset({Fact.CONTACT, Fact.GATE})


def tell_hidden_facts(question: Question, look: Look) -> Question:
    """
    Return the question with whatever the look hides told in `facts`; raises HiddenFactError where it must be refused.

    Asked of a question that has been told its facts already, it returns it as it is.
    """
    process = question.specimen.process
    needed = needs(question) & facts_of(process)
    hidden = needed - shown(Sight(look, process, question.specimen.seed or 0), needed)
    if not hidden:
        return _with_facts(question, shades_told(question.specimen, look) if needed & _SUPPLY else ())
    rest = hidden - _SUPPLY
    if rest:
        named = ", ".join(sorted(TEXT[fact] for fact in rest))
        raise HiddenFactError(f"the look “{look.name}” does not show {named}", todo="choose another look")
    told = _wells_told(question) if hidden == {Fact.WELL} else _tell(question)
    if told is None:
        named = ", ".join(sorted(TEXT[fact] for fact in hidden))
        raise HiddenFactError(
            f"the look “{look.name}” does not show {named}, and to tell it would be the answer",
            todo="choose another look",
        )
    return _with_facts(question, told)


def _with_facts(question: Question, told: tuple[str, ...]) -> Question:
    new = tuple(fact for fact in told if fact not in question.facts)
    return replace(question, facts=(*question.facts, *new)) if new else question


def _tell(question: Question) -> tuple[str, ...] | None:
    """Return what to tell so that rails and kinds can be read; None where that would be the answer."""
    scene = scene_of(question.specimen)
    if question.kind == "point" and str(question.key["target"]) in scene.process.supplies:
        return None
    if question.kind == "rails":
        return _row_told(scene)
    asked_kind = question.kind == "count" or (
        question.kind == "point" and str(question.key["target"]) in ("n transistor", "p transistor")
    )
    if asked_kind and any(rail_of(scene, name) is None for name in scene.channels):
        return None
    return _rails_told(scene)


def _rails_told(scene: Scene) -> tuple[str, ...] | None:
    low, high = scene.process.supplies
    found = []
    for rail in (high, low):
        wires = [w for w in scene.wires if w.net == rail and w.material is Material.METAL]
        if not wires:
            return None
        at = max(wires, key=_size).rect.centre
        found.append(f"{rail} is the wire {whereabouts(scene.layout.box, *at)} ({in_lambda(scene.process, *at)}).")
    return tuple(found)


def _wells_told(question: Question) -> tuple[str, ...] | None:
    """Say where the wells lie that this lot hardly tints; None where another cue can be asked about."""
    if question.kind == "polarity":
        return None
    scene = scene_of(question.specimen)
    wells = [name for name, layer in scene.process.layers.items() if layer.role == "well"]
    rects = [rect for name in wells for rect in scene.layout.flattened().shapes.get(name, ())]
    if not rects:
        return None
    found = []
    for rect in sorted(set(rects))[:MOST_WELLS]:
        low, high = in_lambda(scene.process, rect.x0, rect.y0), in_lambda(scene.process, rect.x1, rect.y1)
        found.append(f"from {low} to {high}")
    title = scene.process.layers[wells[0]].title
    return (f"The {title} is too faint to see here; it reaches {' and '.join(found)}.",)


MOST_WELLS = 4


def _size(wire: Wire) -> tuple[int, int, int]:
    return max(wire.rect.width, wire.rect.height), wire.rect.x0, wire.rect.y0


def _row_told(scene: Scene) -> tuple[str, ...] | None:
    """Tell the kind of one transistor that stands on a rail's row; the learner must still follow it to the rail."""
    for t in scene.extraction.netlist.transistors:
        if rail_of(scene, t.name) is not None:
            x, y = scene.channels[t.name][0].centre
            where = f"{whereabouts(scene.layout.box, x, y)} ({in_lambda(scene.process, x, y)})"
            return (f"The transistor {where} is {t.kind}.",)
    return None


def ask_in_look(kind: QuestionKind, specimen: Specimen, rng: Random, look: Look | None) -> Question | None:
    """Ask for a question that the look allows, with what it hides told; None where none was found."""
    if look is not None and _ALWAYS.get(kind.name, frozenset()) - visible(look, specimen.process):
        return None
    for _ in range(TRIES if look is not None else 1):
        question = kind.ask(specimen, rng)
        if question is None or look is None:
            return question
        try:
            return tell_hidden_facts(question, look)
        except HiddenFactError:
            continue
    return None
