"""Ask, accept, grade, explain: one module a kind of question."""
