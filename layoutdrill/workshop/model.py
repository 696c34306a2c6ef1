"""What a workshop works on: a set of fixed questions, its key, and one learner's result."""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from layoutdrill.question.model import Grid, Listing
from layoutdrill.value import value


class Feedback(StrEnum):
    """When a learner is told what was right."""

    NOW = "now"  # after each answer: the key travels in the set
    END = "end"  # when the leader opens the key: it stays with the leader until then


@value
class Sheet:
    """
    One question as every learner gets it: nothing in it tells the answer.

    `layout` is the canonical text of the face under a neutral name, `process` the name of its process; `marks` are
    (letter, x, y, ringed) in grid units, `seen` what plain text says is at each, where that is said; `form` is what it
    takes to read an answer without knowing the right one. `lot` and `wear` say how the die looks, which what is told
    with the question goes by; `frame` is the border of the cell (x0, y0, x1, y1) where neighbours begin beyond it.
    `scale`, `grid` and `listing` are those of the question.
    """

    number: int
    kind: str
    process: str
    layout: str
    prompt: str
    choices: tuple[str, ...]
    facts: tuple[str, ...]
    marks: tuple[tuple[str, int, int, bool], ...]
    pointed: bool
    typed: bool
    look: str
    lot: int
    wear: float
    frame: tuple[int, int, int, int] | None
    form: Mapping[str, object]
    scale: int = 0
    seen: tuple[str, ...] = ()
    grid: Grid | None = None
    listing: Listing | None = None


@value
class KeyEntry:
    """What only the leader knows of a question: the typed key in JSON, and what was drawn."""

    number: int
    key: Mapping[str, object]
    cell: str
    structure: str
    aliases: tuple[str, ...]
    boundary: str
    about: str
    skill: str


@value
class WorkshopSet:
    """
    A set. `processes` holds the YAML text of each process, so that a set can be read whatever is installed; `key` is
    empty where it is kept apart, and `key_digest` then tells whether a key belongs to it. `pictures` are the files of
    photographs by their SHA-256.
    """

    title: str
    deck: str
    seed: int
    minutes: int
    feedback: Feedback
    difficulty: float | None
    made_with: str
    sheets: tuple[Sheet, ...]
    processes: Mapping[str, str]
    key_digest: str
    key: tuple[KeyEntry, ...] = ()
    digest: str = ""
    pictures: Mapping[str, bytes] = field(default_factory=dict)


@value
class Given:
    """
    One answer as given: text as typed or a point in grid units, or skipped. `at` is in seconds since the start;
    `confidence` from 1 (guessed) to 3 (sure), None where it was not asked.
    """

    number: int
    text: str
    point: tuple[int, int] | None
    skipped: bool
    seconds: float
    at: float
    hints: tuple[str, ...] = ()
    confidence: int | None = None


@value
class Result:
    """
    What one learner answered to one set. `started` and `finished` are ISO 8601 in UTC, the second "" while open;
    `drafts` are halves of answers by the number of their question, kept while the set is open.
    """

    set_digest: str
    title: str
    name: str
    started: str
    finished: str
    made_with: str
    answers: tuple[Given, ...]
    digest: str = ""
    drafts: Mapping[int, str] = field(default_factory=dict)
