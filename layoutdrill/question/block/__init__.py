"""Read the plan of a die: where its parts are, what its pads do, how wide it is, and where one cell ends."""

from layoutdrill.question.block.kind import LEAST, Block

__all__ = ["LEAST", "Block"]
