"""The section that a verdict can show: the die cut through the one place that was asked about."""

from layoutdrill.face.drawn import DrawnFace
from layoutdrill.face.section import SectionFace
from layoutdrill.question.model import Question, Verdict


def section_through(question: Question, verdict: Verdict) -> SectionFace | None:
    """
    Return the section level through the ring that a question marks, or the first right place where it asked for one;
    None where there is no one place, and of what is no drawing.
    """
    face = question.specimen.face
    if not isinstance(face, DrawnFace) or isinstance(face, SectionFace):
        return None
    if len(question.marks) == 1:
        mark = question.marks[0]
        return SectionFace.about(face, mark.letter, mark.x, mark.y)
    if question.pointed and verdict.areas:
        return SectionFace.about(face, "a right place", *verdict.areas[0].centre)
    return None
