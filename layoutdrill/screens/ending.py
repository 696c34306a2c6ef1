"""Put into words how a sitting went."""

from layoutdrill.deck import load_deck
from layoutdrill.drill.lesson_states import DONE, lesson_states
from layoutdrill.drill.open_sitting import OpenSitting
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.summary import Summary
from layoutdrill.screens.course import last_lesson, lesson_after


def summary_text(summary: Summary, placed: dict[str, bool] | None = None) -> str:
    """Put a summary into words and two small tables."""
    if not summary.answered and not summary.skipped:
        return "Nothing was answered."
    right = f"{summary.right} of {summary.answered} answered right and without hints"
    lines = [f"{right}; credit {summary.credit:g} of {summary.total}."]
    if summary.skipped:
        lines.append(f"{summary.skipped} given up.")
    if summary.answered:
        lines.append(f"Half of the answers took less than {summary.seconds:g} s.")
    if placed:
        known = [name for name, passed in placed.items() if passed]
        lines += ["", "Lessons you can skip: " + (", ".join(known) if known else "none yet; begin with the first.")]
    lines += ["", "By what was asked, right and without hints"]
    wide = max(len(tally.name) for tally in summary.by_skill)
    lines += [f"  {tally.name:{wide}}  {tally.right} of {tally.asked}" for tally in summary.by_skill]
    if summary.slips:
        lines += ["", "To look at again"]
        lines += [f"  {slip.number}. {slip.words}" for slip in summary.slips]
    return "\n".join(lines)


def what_is_next(sitting: OpenSitting) -> str:
    """Say where Enter leads, and what may be done with what was missed."""
    name = lesson_after(sitting)
    if name:
        lesson = load_deck(name)
        about = " ".join(lesson.objective.split()).rstrip(".")
        lead = f"Enter goes on to the next lesson, {lesson.lesson}. {lesson.title}" + (f": {about}." if about else ".")
    else:
        after = (
            "That was the last lesson: next comes a whole die, Survey a chip, on home." if last_lesson(sitting) else ""
        )
        lead = f"{sitting.hand_in or after} Enter goes back.".lstrip()
    if sitting.missed:
        count = len(sitting.missed)
        anew = (
            "" if sitting.sort == "set" else f" m asks only the {count} not right without hints, from fresh drawings;"
        )
        lead += f"{anew} r shows each again."
    return lead


def told_at_the_end(sitting: OpenSitting) -> str:
    """Return how a sitting went; after a placement test also which lessons can be skipped, by their titles."""
    placed = None
    summary = sitting.summary()
    if sitting.sort == "review":
        return "That was the last of them."
    if summary is None:
        return f"{sitting.answered} of {sitting.total} answered and kept. {sitting.told_later}"
    if isinstance(sitting, Sitting) and sitting.sort == "placement":
        placed = {load_deck(name).title: passed for name, passed in sitting.placement().items()}
    return summary_text(summary, placed) + (f"\n\n{stands}" if (stands := how_it_stands(sitting)) else "")


def how_it_stands(sitting: OpenSitting) -> str:
    """Say whether a lesson is done, and when it counts as done; "" of anything else."""
    deck = getattr(sitting, "deck", None)
    if not isinstance(sitting, Sitting) or sitting.sort != "lesson" or deck is None or not deck.lesson:
        return ""
    (state,) = lesson_states({deck.name: deck.questions}, sitting.records.path)
    stands = "This lesson is done" if state.done else "This lesson is not done yet"
    how = f": {state.right} of its last {state.counted} answers right, on new drawings" if state.counted else ""
    return f"{stands}{how} ({DONE})."
