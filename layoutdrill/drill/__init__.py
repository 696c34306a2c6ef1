"""A sitting: what is asked next, answers graded and kept, how it went."""
