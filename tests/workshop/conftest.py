"""One set for all tests of the room, and a way to answer it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from layoutdrill.question import kinds
from layoutdrill.workshop.asking import question_of
from layoutdrill.workshop.documents import signed
from layoutdrill.workshop.model import Given, Result
from layoutdrill.workshop.prepare import Wanted, prepare

START = datetime(2026, 3, 7, 9, 0, tzinfo=UTC)


class Clock:
    """A clock that goes on when told to."""

    def __init__(self):
        self.time = START

    def __call__(self):
        return self.time

    def goes_on(self, seconds):
        self.time += timedelta(seconds=seconds)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture(scope="session")
def made():
    """Return a set of eight questions of a deck that ships, with its key."""
    return prepare("first-gates", Wanted(count=8, minutes=10, seed=3))


def solution(made, number):
    """Return the right answer to a question, as its kind gives it."""
    question = question_of(made, number)
    return kinds()[question.kind].solution(question)


def answered(made, name, wrong=(), at=30.0, confidence=None):
    """Return a finished result: all right but the questions of `wrong`, which are skipped."""
    answers = []
    for sheet in made.sheets:
        right = solution(made, sheet.number)
        given = Given(
            sheet.number, right.text, right.point, False, 4.0 + sheet.number, at * sheet.number, (), confidence
        )
        answers.append(replace(given, text="", point=None, skipped=True) if sheet.number in wrong else given)
    started, finished = START.isoformat(), (START + timedelta(minutes=9)).isoformat()
    return signed(Result(made.digest, made.title, name, started, finished, "test", tuple(answers)))
