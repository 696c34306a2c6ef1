"""The pen that suits a process's gates."""

from layoutdrill.drawing.shared.canvas import Canvas
from layoutdrill.drawing.shared.metal import MetalPen
from layoutdrill.drawing.shared.poly import PolyPen
from layoutdrill.drawing.shared.technique import GateForm, Technique
from layoutdrill.units import GridUnits

GatePen = PolyPen | MetalPen


def pen_for(t: Technique, rail_extra: GridUnits = 0) -> GatePen:
    """Return a pen on a canvas of its own."""
    return (PolyPen if t.form is GateForm.POLY else MetalPen)(Canvas(), t, rail_extra)
