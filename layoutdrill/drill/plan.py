"""
Decide what a sitting asks, and in which order: mixed, look-alikes near each other, no three in a row of one
structure, and never the same picture twice. All of it follows from the seed.

Interleaving look-alikes: Kornell & Bjork 2008; Carvalho & Goldstone 2014. Help that fades comes first: Renkl 2002.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.deck import Deck, Item
from layoutdrill.deck.specimen import ORIENTATIONS
from layoutdrill.dice import Dice
from layoutdrill.process import load_process
from layoutdrill.question.model import HintStep
from layoutdrill.value import value

T = TypeVar("T")

MOST_IN_A_ROW = 2
_NEAR_PERCENT = 60
"""How often the next question is a look-alike of the last, where there is one."""


@value
class Draw:
    """
    One question to come. `kind` is asked if it fits the specimen, else one of `kinds`, else any that fits; `group` is
    the lesson it stands for in a placement test. `wear` is that of the die, None where the learner chooses; `skill`
    is what the question is to train, "" where any will do. `words` come before the question, the `note` with its
    verdict; `look` goes before the chosen one, where that may be left;
    `stage` says how far the die has been taken apart;
    `glance` the seconds for which the picture is seen, 0 for as long as one likes; `why` says why it is asked. `ask` is
    the sort of question where a kind has several that can be named, `part` a part cut out of the die, `step` the step
    of a survey that it belongs to.
    """

    cell: str
    process: str
    structure: str
    seed: int
    difficulty: float
    kind: str
    kinds: tuple[str, ...] = ()
    hints: tuple[str, ...] = ()
    help: tuple[HintStep, ...] = ()
    group: str = ""
    wear: float | None = None
    skill: str = ""
    words: str = ""
    note: str = ""
    look: str = ""
    stage: str = ""
    glance: float = 0.0
    why: str = ""
    ask: str = ""
    part: str = ""
    step: str = ""


def draw_of(given: Mapping[str, Any]) -> Draw:
    """Return a draw from its plain JSON form, as a record keeps it."""
    steps = tuple(HintStep(step) for step in given["help"])
    return Draw(**{**given, "kinds": tuple(given["kinds"]), "hints": tuple(given["hints"]), "help": steps})


def plan(deck: Deck, count: int, seed: int, structure_of: Callable[[str], str], group: str = "") -> tuple[Draw, ...]:
    """
    Return `count` draws of a deck, fewer where a kit does not have so many pictures; the same for the same seed.

    Draws with help come first, the most help before the less; the others are mixed.
    """
    dice = Dice.from_text(f"plan {seed}")
    drawn: list[Draw] = []
    for item, share in zip(deck.items, shares(deck.items, count), strict=True):
        drawn.extend(_of_item(deck, item, share, dice, structure_of, group))
    pictured = _own_pictures(deck, drawn, dice)
    helped = sorted((draw for draw in pictured if draw.help), key=lambda draw: -len(draw.help))
    return (*helped, *mixed([draw for draw in pictured if not draw.help], dice, before=helped))


def shares(items: Sequence[Item], count: int) -> tuple[int, ...]:
    """Deal `count` questions out over the items, in proportion to their own counts, largest remainder first."""
    if not items:
        return ()
    weights = [item.count or 1 for item in items]
    whole = sum(weights)
    exact = [count * weight / whole for weight in weights]
    dealt = [int(part) for part in exact]
    by_rest = sorted(range(len(items)), key=lambda i: (dealt[i] - exact[i], i))
    for i in by_rest[: count - sum(dealt)]:
        dealt[i] += 1
    return tuple(dealt)


def _of_item(
    deck: Deck, item: Item, share: int, dice: Dice, structure_of: Callable[[str], str], group: str
) -> list[Draw]:
    """Take the item's cells and processes in turn, shuffled anew each round."""
    pairs = [
        (cell, process) for cell in item.cells for process in item.processes if deck.suits(cell, load_process(process))
    ]
    if not pairs:
        return []
    draws: list[Draw] = []
    turn: list[tuple[str, str]] = []
    kinds = dice.shuffled(item.kinds)
    while len(draws) < share:
        if not turn:
            turn = dice.shuffled(pairs)
        cell, process = turn.pop()
        draws.append(
            Draw(
                cell=cell,
                process=process,
                structure=structure_of(cell),
                seed=_seed_of(item, len(draws)),
                difficulty=_difficulty_of(item, dice),
                kind=kinds[len(draws) % len(kinds)] if kinds else "",
                kinds=item.kinds,
                hints=item.hints,
                help=item.help,
                group=group,
                wear=_in_turn(item.wears, len(draws), item.wear),
                words=item.words,
                note=item.note,
                look=_in_turn(item.looks, len(draws), item.look),
                stage=_in_turn(item.stages, len(draws), item.stage),
            )
        )
    return draws


def _in_turn(several: Sequence[T], number: int, single: T) -> T:
    """Return what holds for an item's question: of several each in turn."""
    return several[number % len(several)] if several else single


def _seed_of(item: Item, number: int) -> int:
    """Return the seed of an item's question, -1 for a fresh one: several are taken in turn."""
    return _in_turn(item.seeds, number, -1 if item.seed is None else item.seed)


def _difficulty_of(item: Item, dice: Dice) -> float:
    """Return how crowded the drawing of a question is: of a range any, in hundredths."""
    if item.hardest is None:
        return item.difficulty
    return dice.between(round(item.difficulty * 100), round(item.hardest * 100)) / 100


def _own_pictures(deck: Deck, draws: list[Draw], dice: Dice) -> list[Draw]:
    """
    Give each draw a drawing of its own: a fixed seed serves once, then fresh ones; a kit's cells are turned; a place on
    a photograph is asked about a few times.
    """
    used: set[tuple[str, str, int]] = set()
    seen: Counter[str] = Counter()
    pictured: list[Draw] = []
    for draw in draws:
        seed = draw.seed
        if deck.limited(draw.cell):
            if seen[draw.cell] >= ORIENTATIONS:
                continue
            base = seed % ORIENTATIONS if seed >= 0 else dice.below(ORIENTATIONS)
            while (draw.cell, draw.process, base) in used:
                base = (base + 1) % ORIENTATIONS
            seen[draw.cell] += 1
            seed = base
        else:
            while seed < 0 or (draw.cell, draw.process, seed) in used:
                seed = dice.between(1, 2**31 - 1)
        used.add((draw.cell, draw.process, seed))
        pictured.append(replace(draw, seed=seed))
    return pictured


def mixed(draws: Sequence[Draw], dice: Dice, before: Sequence[Draw] = ()) -> tuple[Draw, ...]:
    """Order draws so that look-alikes come near each other and no structure three times in a row, where that can be."""
    waiting: dict[str, list[Draw]] = {}
    for draw in dice.shuffled(draws):
        waiting.setdefault(draw.structure, []).append(draw)
    alike = _alike(draws)
    last, run = "", 0
    for draw in before:
        last, run = draw.structure, run + 1 if draw.structure == last else 1
    done: list[Draw] = []
    while waiting:
        left = {name: len(queue) for name, queue in waiting.items()}
        allowed = [name for name in left if _feasible(name, left, last, run)] or list(left)
        near = [name for name in allowed if (last, name) in alike]
        choice = near if near and dice.chance(_NEAR_PERCENT) else allowed
        name = dice.weighted([(name, left[name]) for name in choice])
        done.append(waiting[name].pop())
        if not waiting[name]:
            del waiting[name]
        last, run = name, run + 1 if name == last else 1
    return tuple(done)


def _feasible(pick: str, left: dict[str, int], last: str, run: int) -> bool:
    """Tell whether the pick makes no third in a row, and leaves an order for the others that makes none either."""
    run = run + 1 if pick == last else 1
    if run > MOST_IN_A_ROW:
        return False
    whole = sum(left.values()) - 1
    for name, count in left.items():
        mine = count - (name == pick)
        room = MOST_IN_A_ROW * (whole - mine) + MOST_IN_A_ROW - (run if name == pick else 0)
        if mine > room:
            return False
    return True


def _alike(draws: Sequence[Draw]) -> set[tuple[str, str]]:
    """Return the pairs of structures, both ways round, one of which is mistaken for the other."""
    known = cell_names()
    alike: set[tuple[str, str]] = set()
    for cell in {draw.cell for draw in draws if draw.cell in known}:
        own = load_cell(cell).structure
        for other in (load_cell(look.cell).structure for look in load_cell(cell).mistaken_for):
            if other != own:
                alike |= {(own, other), (other, own)}
    return alike
