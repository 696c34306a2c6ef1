"""What all families of drawing share: what is asked, a canvas with parts to draw on it, sizes, and refusals."""

# ruff: noqa: F401 - what is imported here is for all families to take from here
from layoutdrill.drawing.shared.canvas import Canvas, Drawing, Span, frame_round, reach_by_net
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.gate_pens import GatePen, Heights, MetalPen, PolyPen, heights_of, pen_for
from layoutdrill.drawing.shared.job import MOST, Choices, Request, all_or_none, refuse, refuse_unlike
from layoutdrill.drawing.shared.pen import RIM, Pen
from layoutdrill.drawing.shared.sizes import Drawn, Size, sizes_of, with_sizes
