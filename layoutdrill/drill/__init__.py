"""A sitting: which question next, records, statistics."""
