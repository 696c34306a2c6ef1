"""The pen that suits a process's gates."""

from layoutdrill.drawing.shared.metal import MetalPen
from layoutdrill.drawing.shared.poly import PolyPen
from layoutdrill.drawing.shared.technique import GateForm, Technique
from layoutdrill.units import GridUnits

GatePen = PolyPen | MetalPen


def pen_for(t: Technique, rail_extra: GridUnits = 0) -> GatePen:
    """Return a pen with nothing drawn yet."""
    return (PolyPen if t.form is GateForm.POLY else MetalPen)(t, rail_extra=rail_extra)
