"""Draw, rule-check, read back, extract, compare: the only door through which a drawing reaches anyone."""

from layoutdrill.prove.proof import Proved, proved

__all__ = ["Proved", "proved"]
