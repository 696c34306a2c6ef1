"""Answers that an earlier version stored are graded as they were, from the records file alone."""

import shutil
from collections import Counter
from pathlib import Path

import pytest

from layoutdrill.drill.again import regraded
from layoutdrill.drill.records import Records

STORED = Path(__file__).with_name("stored") / "records-1.sqlite3"
"""Written by the version before faces and typed keys: each kind in two processes, right and wrong, some with hints."""


@pytest.fixture
def answers(tmp_path):
    path = tmp_path / "records.sqlite3"
    shutil.copy(STORED, path)
    return Records(path).answers()


def test_every_kind_of_then_is_stored(answers):
    """The sample holds what it is kept for: four answers of each kind."""
    kinds = ("name", "count", "spot", "point", "rails", "same net", "polarity")
    assert Counter(answer.kind for answer in answers) == dict.fromkeys(kinds, 4)


def test_stored_answers_are_graded_as_they_were(answers):
    """The same credit before hints and the same answer, from key and text; what decides is told in today's words."""
    for answer in answers:
        verdict = regraded(answer)
        hints = dict.fromkeys(answer.hints, 0.1)  # the sample's hints are those that cost a tenth
        assert verdict.credit * (1 - sum(hints.values())) == pytest.approx(answer.credit), answer.verdict
        assert verdict.summary == answer.verdict["summary"]
        assert verdict.right == answer.verdict["right"]
        assert verdict.decides
