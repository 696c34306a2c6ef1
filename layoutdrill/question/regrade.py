"""Grade an old answer again, from its record alone: kind, key, text of the face, process, answer."""

from collections.abc import Mapping

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.face import face_again
from layoutdrill.process import Process
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.model import Answer, Question, Specimen, Verdict
from layoutdrill.question.registry import kinds


def restored(kind: QuestionKind, key: Mapping[str, object], face_text: str, process: Process) -> Question:
    """Rebuild as much of a question as grading needs; prompt, facts and marks are not in a key."""
    face = face_again(face_text, process)
    specimen = Specimen(
        cell=face.name,
        structure="",
        aliases=(),
        face=face,
        netlist=face.extraction.netlist,
        boundary="",
    )
    return Question(kind.name, "", specimen, (), (), (), kind.read_key(key))


def regrade(kind: str, key: Mapping[str, object], face_text: str, process: Process, answer: Answer) -> Verdict:
    """Judge an answer anew; raises LayoutdrillError for an unknown kind or a record that is damaged."""
    known = kinds().get(kind)
    if known is None:
        raise LayoutdrillError(f'no kind of question "{kind}"', todo=did_you_mean(kind, kinds()))
    try:
        return known.grade(restored(known, key, face_text, process), answer)
    except (LookupError, TypeError, ValueError) as error:
        what = f"the record's key cannot be graded ({type(error).__name__}: {error})"
        raise LayoutdrillError(what, todo="the record is damaged") from None
