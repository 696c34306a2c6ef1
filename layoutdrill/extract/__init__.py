"""Layout to netlist, from geometry alone, and where on the drawing each device and net lies."""

from layoutdrill.extract.model import Extraction, Finding, FindingKind
from layoutdrill.extract.run import extract

__all__ = ["Extraction", "Finding", "FindingKind", "extract"]
