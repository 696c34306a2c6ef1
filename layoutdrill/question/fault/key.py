"""What a question on a defect keeps."""

from dataclasses import field

from layoutdrill.geometry.rect import Rect
from layoutdrill.question.keys import Key
from layoutdrill.value import value


@value
class FaultKey(Key):
    """
    What is asked (find, does, symptom, fits), the right choice, the defect's kind and place, and what decides.

    Of two dies `place` lies on the faulty one and `twin` on the sound one. `column` are the levels of the output for
    the rows of the inputs, counting up, of the faulty die, or as they were measured; `would` says of each wrong choice
    what one would see were it right.
    """

    shown = ("what", "choices")
    what: str
    right: str
    kind: str
    place: Rect
    decides: str
    choices: tuple[str, ...] = ()
    twin: Rect | None = None
    tolerance: int = 0
    transistors: tuple[str, ...] = ()
    inputs: tuple[str, ...] = ()
    output: str = ""
    column: str = ""
    would: dict[str, str] = field(default_factory=dict)
