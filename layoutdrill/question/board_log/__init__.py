"""A log of the board, held against the die: what it would give, where a log differs, and which fault explains that."""

from layoutdrill.question.board_log.kind import BoardLog

__all__ = ["BoardLog"]
