"""How a seat stands before its app is started: some have nothing left to answer, some cannot be gone on with."""

from pathlib import Path

from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.value import value
from layoutdrill.workshop.documents import read_result, read_set
from layoutdrill.workshop.sit import SetSitting, result_file


@value
class Standing:
    """What a guest is told instead of the app, and what the leader is told of it; "" for nothing."""

    guest: str
    leader: str = ""


def standing(set_file: Path, results: Path, name: str) -> Standing | None:
    """Return why a seat's app need not start, None where it is to start."""
    path = result_file(set_file, name, results)
    if not path.exists():
        return None
    try:
        made, result = read_set(set_file), read_result(path)
        if result.finished and result.set_digest == made.digest:
            return Standing(f"You have finished this set. {_outcome(SetSitting(made, path, result))}")
        SetSitting.open(made, path, name)
    except LayoutdrillError as error:
        return Standing("Your answers cannot be opened. Ask the leader, who has been told why.", f"{name}: {error}")
    return None


def _outcome(sitting: SetSitting) -> str:
    """Tell the result where the set tells it at once, and who has it."""
    summary = sitting.summary()
    if summary is None:
        return f"Your answers are with the leader. {sitting.told_later}"
    return f"{summary.right} of {plural(sitting.total, 'question')} right. Your answers are with the leader."
