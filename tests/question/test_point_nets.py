"""Pointing at a net: every place of it counts, in every layer, as far as the tolerance that the prompt states."""

import pytest

from layoutdrill.dice import Dice
from layoutdrill.question import Answer, kinds
from tests.question.fairness import WELLS

POINT = kinds()["point"]


def asked_nets(specimen):
    """Return the questions about the output and the two rails."""
    found = {}
    for seed in range(80):
        question = POINT.ask(specimen, Dice(seed))
        if question.key.target in ("output", *specimen.process.supplies):
            found.setdefault(question.key.target, question)
    return found


@pytest.mark.parametrize(
    ("cell", "process"),
    [
        ("nand2", "metal-gate-sapphire"),
        ("aoi21", "metal-gate-cmos"),
        ("tristate", "silicon-gate-cmos"),
        ("nor2", "silicon-gate-nmos"),
    ],
)
def test_every_place_of_a_net_is_right(drawn, cell, process):
    """
    Corners, middles and the label of its port, in metal, poly and diffusion, and 1 λ beyond, earn all; so also at the
    border, where a port ends in a wire and in a crossunder at once. The places come from the extraction's shapes.
    """
    specimen = drawn(cell, process, 2)
    questions = asked_nets(specimen)
    assert set(questions) >= set(specimen.process.supplies)
    for question in questions.values():
        (net,) = question.key.nets
        by = specimen.process.grid_per_lambda
        shapes = specimen.extraction.net_shapes(net).items()
        rects = [rect for name, own in shapes if name not in WELLS for rect in own]
        places = [(label.x, label.y) for label in specimen.face.layout.labels if label.text == net]
        for r in rects:
            places += [(x, y) for x in (r.x0 - by, r.centre[0], r.x1 + by) for y in (r.y0 - by, r.centre[1], r.y1 + by)]
        assert places
        for place in places:
            verdict = POINT.grade(question, Answer("", place))
            assert verdict.correct, (net, place, verdict.summary)
