"""What is shown, whatever it is: its picture, its extent, the facts that it shows, and what can be read from it."""

from layoutdrill.face.again import face_again, unit_again
from layoutdrill.face.drawn import DrawnFace, layout_of
from layoutdrill.face.model import Face, Light
from layoutdrill.face.unit import Unit

__all__ = ["DrawnFace", "Face", "Light", "Unit", "face_again", "layout_of", "unit_again"]
