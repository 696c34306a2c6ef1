"""While rooms are rebuilt, the same seeds give the same drawings and the same questions."""

import json

import pytest

from tests.frozen.frozen import FILE, PROCESSES, layouts, questions


@pytest.fixture(name="kept", scope="module")
def _kept():
    return json.loads(FILE.read_text("utf-8"))


@pytest.mark.parametrize("process", PROCESSES)
def test_drawings_are_as_before(kept, process):
    """The canonical text of every kept drawing is the same to the letter."""
    mine = {name: value for name, value in kept["layouts"].items() if name.split()[0] == process}
    assert dict(layouts(process)) == mine


@pytest.mark.parametrize("process", PROCESSES)
def test_questions_are_as_before(kept, process):
    """Prompt, choices, facts, places and key of every kept question are the same to the letter; kinds may be added."""
    mine = {name: value for name, value in kept["questions"].items() if name.split()[0] == process}
    now = dict(questions(process))
    assert {name: now.get(name) for name in mine} == mine
