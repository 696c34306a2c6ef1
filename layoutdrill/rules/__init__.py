"""Design-rule check of a layout against its process."""

from layoutdrill.rules.check import check
from layoutdrill.rules.model import Violation

__all__ = ["Violation", "check"]
