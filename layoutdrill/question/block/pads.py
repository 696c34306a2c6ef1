"""What the pads of a die are for, and which edge faces what."""

from collections import Counter

from layoutdrill.dice import Dice
from layoutdrill.question.block.key import MARKS, BlockKey, block_question
from layoutdrill.question.choices import shuffled
from layoutdrill.question.die_parts import AT_PADS, INPUT, NOTHING, OUTPUT, SUPPLY
from layoutdrill.question.die_plan import EDGES, Bond, DiePlan
from layoutdrill.question.model import Mark, Question, Specimen

_DOES = {
    INPUT: "an input: fingers with their gates on the rails, then small inverters",
    OUTPUT: "an output: the wide comb of a driver stands at it",
    SUPPLY: "a supply: the broadest metal of the die leads from it",
    NOTHING: "nothing: it is joined to no circuit",
}
_SORT = {INPUT: "an input", OUTPUT: "an output", SUPPLY: "a supply", NOTHING: "joined to nothing"}
_WOULD = {
    INPUT: "a few fingers with their gates on a rail would stand beside it, and small inverters would lead inwards",
    OUTPUT: "combs of many gate fingers, the widest transistors of the die, would stand beside it",
    SUPPLY: "metal as broad as no signal's would lead from it, and no transistor would stand between",
    NOTHING: "no metal would lead on from it to any transistor",
}


def ask_supplies(specimen: Specimen, plan: DiePlan, dice: Dice, _: str = "") -> Question | None:
    """Ask which pads carry the supplies."""
    rails = [bond for bond in plan.bonds if bond.does == SUPPLY]
    rest = [bond for bond in plan.bonds if bond.does != SUPPLY]
    if len(rails) != 2 or len(rest) < 3:
        return None
    chosen = dice.shuffled([*rails, *dice.sample(rest, 3)])
    letters = MARKS + "T"
    lettered = dict(zip(letters, chosen, strict=True))
    marks = tuple(Mark(letter, *bond.rect.centre) for letter, bond in lettered.items())
    right = " ".join(letter for letter, bond in lettered.items() if bond.does == SUPPLY)
    decides = "From a supply's pad the broadest metal leads straight on and along the edge; no transistor stands at it."
    would = {letter: f"{letter} is {_SORT[bond.does]}: {AT_PADS[bond.does][1]}" for letter, bond in lettered.items()}
    places = tuple(bond.rect.centre for bond in rails)
    key = BlockKey("supplies", right, decides, known=tuple(letters), places=places, would=would)
    return block_question(specimen, "Which of the marked pads carry the supplies? Type their letters.", key, marks)


def ask_pad(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask what one pad does; `about` "input", "output" or "supply" chooses which sort it is."""
    sorts = sorted({bond.does for bond in plan.bonds})
    if not sorts or (about and about not in sorts):
        return None
    does = about or dice.pick(sorts)
    bond = dice.pick([bond for bond in plan.bonds if bond.does == does])
    choices = shuffled(_DOES[does], [said for name, said in _DOES.items() if name != does], dice)
    here = AT_PADS[does][1]
    would = {_DOES[name]: f"Were it {_SORT[name]}, {_WOULD[name]}. {here}" for name in _DOES if name != does}
    beside = _gates_beside(specimen, bond)
    decides = f"{here} The ring is round the one nearest to the pad." if beside else here
    places = (beside or bond.rect.centre,)
    key = BlockKey("pad", _DOES[does], decides, choices, places=places, would=would)
    prompt = f"What is the pad P ({specimen.face.unit.at(*bond.rect.centre)}) for?"
    return block_question(specimen, prompt, key, (Mark("P", *bond.rect.centre),))


def _gates_beside(specimen: Specimen, bond: Bond) -> tuple[int, int] | None:
    """Return the middle of the gate nearest to a pad, of the transistors that have an end on it; None at a supply."""
    if bond.does not in (INPUT, OUTPUT):
        return None
    x, y = bond.rect.centre
    ended = [t.name for t in specimen.netlist.transistors if bond.net in t.ends]
    middles = [rect.centre for name in ended for rect in specimen.extraction.channel(name)]
    return min(middles, key=lambda at: (abs(at[0] - x) + abs(at[1] - y), at), default=None)


def ask_edge(specimen: Specimen, plan: DiePlan, dice: Dice, _: str = "") -> Question | None:
    """Ask which edge faces what talks to the chip, and by what one knows."""
    counts = Counter(bond.edge for bond in plan.bonds if bond.does == INPUT).most_common()
    driven = Counter(bond.edge for bond in plan.bonds if bond.does == OUTPUT)
    if not counts or (len(counts) > 1 and counts[0][1] < 2 * counts[1][1]):
        return None
    edge = counts[0][0]
    other = max((name for name in EDGES if name != edge), key=lambda name: (driven[name], name))
    third = dice.pick([name for name in EDGES if name not in (edge, other)])
    come, go = "fingers with their gates on a rail stand at most pads", "a wide comb stands at most pads"
    right = f"the {edge} edge: {come}, so signals come in there"
    wrong = {
        f"the {edge} edge: {go}, so signals come in there": (
            f"The edge is right, the reason not: combs are drivers, and drive outwards. {counts[0][1]} pads of this "
            "edge have fingers with their gates on a rail."
        ),
        f"the {other} edge: {go}, so signals come in there": (
            f"Combs are drivers, and drive outwards: the {other} edge, with {driven[other]} of them, is where this "
            "chip talks to others."
        ),
        f"the {third} edge: the broadest metal leads from it": (
            "The broadest metal is a supply's: it says where power comes in, not who talks to the chip."
        ),
    }
    decides = f"{counts[0][1]} pads of the {edge} edge have the protection of inputs; of drivers {driven[edge]}."
    places = tuple(bond.rect.centre for bond in plan.bonds if bond.does == INPUT and bond.edge == edge)
    key = BlockKey(
        "edge", right, decides, shuffled(right, list(wrong), dice), places=places, would=wrong, half=tuple(wrong)[:1]
    )
    fact = "What talks to this chip, such as a bus, stands on one edge; what it talks to mostly on another."
    return block_question(
        specimen, "Which edge faces what talks to this chip, and by what is that known?", key, facts=(fact,)
    )
