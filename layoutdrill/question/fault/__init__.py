"""A defect in a layout: find it, say what the circuit does now, how it shows at the pins, and which defect fits."""

from layoutdrill.question.fault.kind import Fault
from layoutdrill.question.fault.trying import GAP, beside, column_of

__all__ = ["GAP", "Fault", "beside", "column_of"]
