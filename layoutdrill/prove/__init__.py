"""Draw, rule-check, extract, compare: the only door through which a drawing reaches anyone."""
