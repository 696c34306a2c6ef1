"""Grade an old answer again, from its record alone: kind, key, layout text, process, answer."""

from collections.abc import Mapping

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.extract import extract
from layoutdrill.layout.text import parse_layout
from layoutdrill.process import Process
from layoutdrill.question.keys import texts
from layoutdrill.question.model import Answer, Question, Specimen, Verdict
from layoutdrill.question.registry import kinds


def restored(kind: str, key: Mapping[str, object], layout_text: str, process: Process) -> Question:
    """Rebuild as much of a question as grading needs; prompt, facts and marks are not in a key."""
    layout = parse_layout(layout_text)
    extraction = extract(layout, process)
    specimen = Specimen(
        cell=str(key.get("cell", layout.name)),
        structure=str(key.get("structure", "")),
        aliases=texts(key, "aliases"),
        process=process,
        layout=layout,
        netlist=extraction.netlist,
        extraction=extraction,
        boundary="",
    )
    return Question(kind, "", specimen, texts(key, "choices"), (), (), key)


def regrade(kind: str, key: Mapping[str, object], layout_text: str, process: Process, answer: Answer) -> Verdict:
    """Judge an answer anew; raises LayoutdrillError for an unknown kind or a record that is damaged."""
    found = kinds().get(kind)
    if found is None:
        raise LayoutdrillError(f'no kind of question "{kind}"', todo=did_you_mean(kind, kinds()))
    try:
        return found.grade(restored(kind, key, layout_text, process), answer)
    except (LookupError, TypeError, ValueError) as error:
        what = f"the record's key cannot be graded ({type(error).__name__}: {error})"
        raise LayoutdrillError(what, todo="the record is damaged") from None
