"""A verdict's section: through the ring that was asked about, its films in order, and none where there is no place."""

from dataclasses import replace

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.face.lettered import WIDTH
from layoutdrill.face.section import REACH
from layoutdrill.question import kinds
from layoutdrill.question.cut import section_through
from layoutdrill.question.model import Verdict


def asked(kind, seed):
    process = "silicon-gate-nmos"
    specimen = drawn(load_cell("nor2"), process, 4, 0.3)
    return kinds()[kind].ask(specimen, Dice(seed))


def test_a_spot_is_cut_through_its_ring():
    """
    Of 12 rings each is cut level through its middle; there metal lies over a contact, poly over a gate's thin oxide,
    as a textbook has it: what decides the answer stands in the table.
    """
    seen = set()
    for seed in range(12):
        question = asked("spot", seed)
        mark = question.marks[0]
        cut = section_through(question, Verdict(0.0, "", "", ""))
        per = question.specimen.process.grid_per_lambda
        assert cut.y == mark.y
        assert (cut.box.x0, cut.box.x1) == (mark.x - REACH * per, mark.x + REACH * per)
        span = next(s for s in cut.section.spans if s.x0 <= mark.x < s.x1)
        right = question.key.right
        if right == "contact":
            assert span.metals
            assert span.cuts
        elif right == "transistor":
            assert any(film.material == "poly" for film in span.place.films)
        elif right == "crossing":
            assert span.metals
            assert not span.cuts
        seen.add(right)
        lines = cut.told_in(WIDTH)
        assert sum(not line.startswith(" ") for line in lines) == len(cut.section.spans) + 1
        here = [line for line in lines if f"here {mark.letter}:" in line]
        assert len(here) == 1
        assert here[0].startswith(f"{span.x0 / per:g} to {span.x1 / per:g} λ")
        assert max(map(len, cut.told_in(30))) <= 30
    assert {"contact", "transistor"} <= seen


def test_no_one_place_no_section():
    """A name is of the whole; a pointed question is cut through the first right place, once it is known."""
    assert section_through(asked("name", 1), Verdict(0.0, "", "", "")) is None
    question = asked("point", 1)
    assert section_through(replace(question, marks=()), Verdict(0.0, "", "", "")) is None
    verdict = kinds()["point"].grade(question, kinds()["point"].solution(question))
    cut = section_through(question, verdict)
    assert verdict.areas
    assert cut is None or cut.y == verdict.areas[0].centre[1]
