"""Where a part of the die lies."""

from layoutdrill.dice import Dice
from layoutdrill.geometry.rect import Rect
from layoutdrill.question.block.key import BlockKey, block_question
from layoutdrill.question.die_parts import AT_PADS, INPUT, OUTPUT, PARTS
from layoutdrill.question.die_plan import DiePlan, extent_of
from layoutdrill.question.model import Question, Specimen

TOLERANCE = 10
"""λ by which a place may miss a part."""


def ask_where(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask where a part lies; `about` is a family of parts, or "output" or "input" for what stands at such pads."""
    unit = specimen.process.grid_per_lambda
    places: dict[str, tuple[Rect, ...]] = {area.family: (area.rect,) for area in plan.areas}
    words = {family: (PARTS[family].said, PARTS[family].known_by) for family in places}
    for does, term in ((OUTPUT, "output pad"), (INPUT, "input protection")):
        own = [s for s in plan.recognition.all() if s.term == term]
        rects = tuple(r for s in own if (r := extent_of(specimen, s.transistors)) is not None)
        if rects:
            places[does], words[does] = rects, AT_PADS[does]
    if len(places) < 2 or (about and about not in places):
        return None
    family = about or dice.pick(list(places))
    others = {words[name][0]: places[name][0] for name in places if name != family and len(places[name]) == 1}
    would = {words[name][0]: words[name][1] for name in places if words[name][0] in others}
    said, known_by = words[family]
    area = plan.area(family)
    key = BlockKey(
        "where", said, known_by, areas=places[family], others=others, tolerance=TOLERANCE * unit, would=would,
        field=said if area is not None else "", cells=area.cells if area is not None else (),
    )  # fmt: skip
    prompt = f"Put the crosshair on {said}: point, or type x, y in {specimen.face.unit.sign}."
    return block_question(specimen, prompt, key, pointed=True)
