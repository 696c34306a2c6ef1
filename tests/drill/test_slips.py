"""How a slip is told afterwards: in words that say something without the picture, and places in λ."""

import json

from layoutdrill.drill.practice import practice_deck
from layoutdrill.drill.results import Results
from layoutdrill.drill.sitting import Sitting
from layoutdrill.process import load_process
from layoutdrill.question import Answer, kinds

PROCESS = "metal-gate-sapphire"


def practise(tmp_path, kind, answer, *, hints=0, results=None):
    """Answer one question of a kind and return the slip."""
    deck = practice_deck(("nand2",), (PROCESS,), (kind,), 0.3)
    with Sitting.open_deck(deck, count=1, seed=5, records=tmp_path / "r") as sitting:
        sitting.results = results
        question = sitting.prepare(0)
        if answer is None:
            sitting.skip(question, 1.0)
        else:
            sitting.submit(question, answer(question), 1.0, question.hints[:hints])
        (slip,) = sitting.summary().slips
        return slip


def test_a_pointed_answer_is_told_in_lambda(tmp_path):
    """The learner never sees the grid of the process; the results keep both."""
    unit = load_process(PROCESS).grid_per_lambda
    results = tmp_path / "results.jsonl"
    slip = practise(tmp_path, "point", lambda _: Answer("", (-63 * unit, 65 * unit // 2)), results=Results(results))
    assert slip.given == "-63, 32.5 λ"
    kept = json.loads(results.read_text())
    assert kept["point"] == [-63 * unit, 65 * unit // 2]
    assert kept["point_in_lambda"] == [-63, 32.5]


def test_a_right_answer_with_a_hint_is_no_mistake(tmp_path):
    """“A NAND2; you said NAND2” would be nonsense."""
    slip = practise(tmp_path, "name", kinds()["name"].solution, hints=1)
    assert slip.words == "NAND2: right, with 1 hint"


def test_a_skipped_question_was_not_answered_skipped(tmp_path):
    """Nothing was said."""
    slip = practise(tmp_path, "name", None)
    assert (slip.given, slip.words) == ("", "NAND2: skipped")


def test_letters_on_the_picture_are_not_repeated_as_what_is_right(tmp_path):
    """“VDD at R” says nothing once the picture is gone."""
    slip = practise(tmp_path, "rails", lambda question: Answer(f"{question.key.low} {question.key.high} a"))
    assert slip.right == "the rails of a NAND2"
    assert slip.given.endswith("% of the credit")
