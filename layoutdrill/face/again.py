"""Make a face again from its canonical text: the door by which a stored answer comes back to what it was about."""

from layoutdrill.face.drawn import DrawnFace
from layoutdrill.face.model import Face
from layoutdrill.layout.text import parse_layout
from layoutdrill.process import Process


def face_again(text: str, process: Process) -> Face:
    """Return the face that wrote `text`, whose first word says which sort it is. Errors name the line."""
    return DrawnFace.of(parse_layout(text), process)
