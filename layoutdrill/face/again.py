"""Make a face again from its canonical text: the door by which a stored answer comes back to what it was about."""

from layoutdrill.face import split
from layoutdrill.face.drawn import DrawnFace
from layoutdrill.face.model import Face
from layoutdrill.face.unit import Unit
from layoutdrill.layout.text import parse_layout
from layoutdrill.process import Process


def is_photograph(text: str) -> bool:
    """Tell whether a face's text is that of a photograph."""
    return text.startswith("- photograph:")


def face_again(text: str, process: Process) -> Face:
    """Return the face that wrote `text`, whose first word says which sort it is. Errors name the line."""
    if is_photograph(text):
        from layoutdrill.face.photo import PhotoFace  # noqa: PLC0415 - most faces are drawings

        return PhotoFace.again(text, process)
    if text.startswith(f"{split.WORD} "):
        return split.SplitFace.read(text, process)
    return DrawnFace.of(parse_layout(text), process)


def unit_again(text: str, process: Process) -> Unit:
    """Return the unit in which places on the face that wrote `text` are told, without making the face."""
    return Unit(1, "px", down=True) if is_photograph(text) else Unit(process.grid_per_lambda)
