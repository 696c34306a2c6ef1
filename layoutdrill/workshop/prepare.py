"""Fix the questions of a set: drawn, proved, asked, and dealt out evenly over the skills of a deck."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from layoutdrill import __version__
from layoutdrill.deck import Deck, load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.drill.asking import asked, drawn_again
from layoutdrill.drill.plan import Draw, mixed, plan
from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.question import Question, Specimen
from layoutdrill.value import value
from layoutdrill.workshop.asking import halves, process_text
from layoutdrill.workshop.documents import sealed
from layoutdrill.workshop.model import Feedback, KeyEntry, Sheet, WorkshopSet
from layoutdrill.workshop.sights import MOST_OF_PICTURES

MOST = 200
LOOK = "reflected-light"
"""The look of a set whose deck asks for none."""
_NAMED = 4
"""So many items, and so many cells of each, are named where they are left out."""
_SPARE = 3
"""How many draws are made for each question wanted, to choose from by skill."""


@value
class Wanted:
    """
    What a leader wants of a set: how many questions, the minutes for them (0 sets no time), the seed they follow from;
    `difficulty` None leaves each item's own; `wear` runs from 0 to 1; without a `look`, the deck's.
    """

    count: int
    minutes: int
    seed: int
    feedback: Feedback = Feedback.NOW
    difficulty: float | None = None
    wear: float = 0.0
    look: str = ""


def prepare(
    deck: Deck | Path | str,
    wanted: Wanted,
    *,
    kit: Path | None = None,
    progress: Callable[[int, int], None] | None = None,
    left_out: Callable[[str], object] = lambda _: None,
) -> WorkshopSet:
    """
    Return a set of questions of a deck, the same for the same arguments and version.

    `left_out` is told, a line each, of what no question was made and why. Raises LayoutdrillError where the deck cannot
    be read or does not give so many different questions.
    """
    count, seed = wanted.count, wanted.seed
    loaded = deck if isinstance(deck, Deck) else load_deck(deck)
    if not loaded.items:
        raise LayoutdrillError(f"{loaded.name} has no questions", todo="add “items:” to the deck")
    maker = SpecimenMaker(loaded, kit)
    maker.ready()
    draws = _dealt(plan(loaded, _SPARE * count, seed, maker.structure), count, seed)
    sheets: list[Sheet] = []
    entries: list[KeyEntry] = []
    pictures: dict[str, bytes] = {}
    shown = wanted.look or loaded.look or LOOK  # the same for everyone, for what it hides is told with the question
    taken: set[tuple[str, str]] = set()
    drawn: set[str] = set()
    refused: dict[str, str] = {}
    waiting = list(draws)
    while waiting and len(sheets) < count:
        draw = waiting.pop(0)
        draw = draw if wanted.difficulty is None else replace(draw, difficulty=wanted.difficulty)
        try:
            question = _question(draw, wanted.wear, maker, seed, shown)
        except LayoutdrillError as error:
            refused.setdefault(draw.cell, str(error))
            continue
        number = len(sheets) + 1
        sheet, entry, files = halves(number, question)
        if (sheet.layout, sheet.prompt) in taken:
            continue
        taken.add((sheet.layout, sheet.prompt))
        drawn.add(draw.cell)
        sheets.append(replace(sheet, look=sheet.look or shown))
        entries.append(entry)
        pictures |= files
        if progress:
            progress(number, count)
    for line in _without(loaded, drawn, refused, count):
        left_out(line)
    _travel(pictures)
    if len(sheets) < count:
        raise LayoutdrillError(
            f"{loaded.name} gives only {len(sheets)} different questions", todo=f"ask for {len(sheets)} or fewer"
        )
    return sealed(
        WorkshopSet(
            title=loaded.title,
            deck=loaded.name,
            seed=seed,
            minutes=wanted.minutes,
            feedback=wanted.feedback,
            difficulty=wanted.difficulty,
            made_with=__version__,
            sheets=tuple(sheets),
            processes={name: process_text(name) for name in sorted({sheet.process for sheet in sheets})},
            key_digest="",
            key=tuple(entries),
            pictures=pictures,
        )
    )


def _dealt(draws: tuple[Draw, ...], count: int, seed: int) -> tuple[Draw, ...]:
    """Take draws so that skills come evenly, then the rest in reserve; help is for lessons, not for a set."""
    used: Counter[tuple[str, str]] = Counter()
    left = [replace(draw, help=(), hints=()) for draw in draws]
    chosen: list[Draw] = []
    while left and len(chosen) < count:
        pick = min(left, key=lambda draw: used[draw.structure, draw.kind])  # the first of the least used
        left.remove(pick)
        used[pick.structure, pick.kind] += 1
        chosen.append(pick)
    return (*mixed(chosen, Dice.from_text(f"set {seed}")), *left)


def _travel(pictures: Mapping[str, bytes]) -> None:
    """Raise LayoutdrillError where the photographs of a set are too large to be handed round in a file."""
    size = sum(map(len, pictures.values()))
    if size > MOST_OF_PICTURES:
        what = f"the photographs of this set take {size // 1_000_000} MB, and it holds {MOST_OF_PICTURES // 1_000_000}"
        raise LayoutdrillError(what, todo="ask fewer questions, or cut the places asked about out of the photographs")


def _without(deck: Deck, drawn: set[str], refused: Mapping[str, str], count: int) -> Iterator[str]:
    """Tell which items of a deck got no question, and why: one line for all that had no room."""
    crowded: list[str] = []
    for item in deck.items:
        if not item.cells or not drawn.isdisjoint(item.cells):
            continue
        names = ", ".join(item.cells[:_NAMED]) + (", …" if len(item.cells) > _NAMED else "")
        names += " (on a photograph)" if any(cell in deck.photographs for cell in item.cells) else ""
        why = next((refused[cell] for cell in item.cells if cell in refused), "")
        if why:
            yield f"left out: {names}: {why}"
        else:
            crowded.append(names)
    if crowded:
        more = f"; … and {len(crowded) - _NAMED} more items" if len(crowded) > _NAMED else ""
        why = f"no room in {plural(count, 'question')}; a larger --count or another --seed takes them"
        yield f"left out: {'; '.join(crowded[:_NAMED])}{more}: {why}"


def _question(draw: Draw, wear: float, maker: SpecimenMaker, seed: int, look: str) -> Question:
    def make(each: Draw) -> Specimen:
        return maker.specimen(each.cell, each.process, each.seed, each.difficulty)

    dice = Dice.from_text(f"set {seed} {draw.cell} {draw.process} {draw.seed}")
    return asked(draw, drawn_again(make, draw, wear), dice, look, look)
