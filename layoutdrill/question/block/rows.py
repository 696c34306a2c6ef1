"""What repeats on a die: how often, at what pitch, where one cell ends, how many transistors all cells have."""

from collections.abc import Iterable

from layoutdrill.dice import Dice
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Netlist
from layoutdrill.question.block.key import MARKS, BlockKey, FourMarks, block_question, chosen_mark
from layoutdrill.question.choices import shuffled
from layoutdrill.question.die_plan import Area, DiePlan
from layoutdrill.question.model import Mark, Question, Specimen
from layoutdrill.recognise.model import Structure

_COUNTS = (2, 3, 4, 5, 6, 8, 12, 16)
_MARKED = ((-25, "a quarter into the cell before"), (33, "a third into the cell after"), (-50, "amid the cell before"))
"""Where wrong marks stand, in hundredths of a pitch from the border."""


def _row(plan: DiePlan, about: str, dice: Dice, least: int = 3, *, even: bool = False) -> Area | None:
    """Return a part whose repeats are counted: that of the family asked for, or any; `even` as for `DiePlan.rows`."""
    rows = [area for area in plan.rows(least, even=even) if area.family == about or not about]
    return dice.pick(rows) if rows else None


def ask_bits(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask how many bits or words a part holds, and from which repeat that is known."""
    area = _row(plan, about, dice, 2)
    if area is None:
        return None
    count, words = len(area.cells), area.words
    numbers = dice.sample([n for n in _COUNTS if n != count], 3)
    way = "side by side" if area.level else "one above the other"
    said = {n: f"{n} {words.counts}s: one {words.repeat} stands {n} times {way}" for n in (count, *numbers)}
    choices = shuffled(said[count], [said[n] for n in numbers], dice)
    decides = f"In {words.said} one {words.repeat} repeats {count} times{' at one pitch' if area.pitch else ''}."
    would = {
        said[n]: f"Were it {n}, {_more(n - count, words.repeat)} in {words.said}; one counts {count}."
        for n in numbers
    }  # fmt: skip
    key = BlockKey("bits", said[count], decides, choices, places=(area.rect.centre,), areas=area.cells, would=would,
        field=words.said, cells=area.cells)  # fmt: skip
    prompt = f"How many {words.counts}s does {words.said} hold, and from which repeat is it known?"
    return block_question(specimen, prompt, key)


def _more(count: int, repeat: str) -> str:
    if count < 0:
        return f"{-count} {repeat}{'s' * (count < -1)} fewer would stand"
    return f"{count} more {repeat}{'s' * (count > 1)} would stand"


def ask_pitch(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask for the pitch at which a part repeats."""
    area = _row(plan, about, dice, even=True)
    if area is None or area.pitch is None:
        return None
    words = area.words
    right = f"{area.pitch / specimen.process.grid_per_lambda:g}"
    decides = (
        f"The distance from a contact of one {words.repeat} to the same contact of the next: {words.said} is one "
        f"{words.repeat} repeated."
    )
    key = BlockKey(
        "pitch", right, decides, places=(area.cells[0].centre, area.cells[-1].centre), areas=area.cells,
        field=words.said, cells=area.cells,
        numbers={
            f"{2 * area.pitch / specimen.process.grid_per_lambda:g}": f"two {words.repeat}s",
            f"{area.pitch / 2 / specimen.process.grid_per_lambda:g}": f"half a {words.repeat}",
        },
    )  # fmt: skip
    ends = (area.cells[0].centre, area.cells[-1].centre)
    marks = tuple(Mark(letter, *at) for letter, at in zip("PQ", ends, strict=True))
    prompt = (
        f"P and Q stand in the outermost {words.repeat}s of {words.said}. What is the pitch of its {words.repeat}s, "
        "in λ? Type a number."
    )
    return block_question(specimen, prompt, key, marks)


def ask_ends(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask where one cell of a row ends and the next begins."""
    area = _row(plan, about, dice, even=True)
    if area is None or area.pitch is None:
        return None
    level, words = area.level, area.words
    cells = sorted(area.cells, key=lambda r: r.x0 if level else r.y0)
    at = dice.below(len(cells) - 1)
    first, then = cells[at], cells[at + 1]
    low, high = (first.x1, then.x0) if level else (first.y1, then.y0)
    if high <= low:
        return None
    border = (low + high) // 2
    across = area.rect.centre[1] if level else area.rect.centre[0]
    shares = ((0, "between two"), *_MARKED)
    letters = dice.shuffled(list(MARKS))
    along = {letter: border + area.pitch * share // 100 for letter, (share, _) in zip(letters, shares, strict=True)}
    places = {letter: (a, across) if level else (across, a) for letter, a in along.items()}
    would = {
        letter: f"{letter} stands {where.replace('cell', words.repeat)}: what lies on its two sides is one "
        f"{words.repeat}, and the same is found a pitch on."
        for letter, (_, where) in zip(letters, shares, strict=True)
    }
    return chosen_mark(
        specimen,
        FourMarks(
            "ends",
            f"Which mark stands where one {words.repeat} of {words.said} ends and the next begins?",
            f"stands between two {words.repeat}s",
            letters[0],
            places,
            would,
            f"What repeats begins there anew: the transistors beyond it are those of the {words.repeat} before "
            "once more.",
            areas=(first, then),
        ),
    )


def ask_whole(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask how many transistors a part has in all, by one cell and how often it repeats."""
    rows = [a for a in plan.rows() if (a.family == about or not about) and _alike(specimen, a.repeats)]
    if not rows:
        return None
    area = dice.pick(rows)
    each, count, words = _count(specimen, area.repeats[0].transistors), len(area.cells), area.words
    decides = f"{each} transistors in one {words.repeat}, {count} {words.repeat}s: {each} × {count} = {each * count}."
    key = BlockKey(
        "whole", str(each * count), decides, places=(area.rect.centre,), areas=area.cells,
        field=words.said, cells=area.cells,
        numbers={str(each): f"one {words.repeat}", str(each * (count - 1)): f"one {words.repeat} too few"},
    )  # fmt: skip
    prompt = (
        f"How many transistors have all {words.repeat}s of {words.said} (P) together, parallel fingers counted once? "
        "Type a number."
    )
    return block_question(specimen, prompt, key, (Mark("P", *area.cells[len(area.cells) // 2].centre),))


def _alike(specimen: Specimen, repeats: Iterable[Structure]) -> bool:
    return len({_count(specimen, part.transistors) for part in repeats}) == 1


def _count(specimen: Specimen, names: Iterable[str]) -> int:
    """Return how many transistors these are, parallel fingers counted once."""
    inside = set(names)
    own = tuple(t for t in specimen.netlist.transistors if t.name in inside)
    return merge_fingers(Netlist("part", specimen.netlist.ports, own)).count()
