"""What each kind asks, in words, for comparison between interpreters; it imports no more than it needs."""

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.question import kinds


def asked_anew(seeds=1):
    """Return what each kind asks of a multiplexer that has just been drawn."""
    specimen = drawn(load_cell("mux2_tg"), "metal-gate-sapphire", 1, 0.3)
    questions = [kind.ask(specimen, Dice(seed)) for kind in kinds().values() for seed in range(seeds)]
    return str([(q.prompt, q.choices, q.marks, q.facts, q.key) for q in questions if q])
