"""Each trade word of questions and plain mode is explained on a lesson page with a picture, and in a glossary."""

import re
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck import Page, lesson_names, load_deck
from layoutdrill.deck.specimen import drawn
from layoutdrill.deck.words import find_word, says, taught, words
from layoutdrill.dice import Dice
from layoutdrill.drill.plain_die import close_meetings, device_lines, overview_lines, rail_lines, window_at
from layoutdrill.drill.plain_hints import hint_lines
from layoutdrill.drill.survey import ABOUT, ASKED_SO, STEPS
from layoutdrill.drill.visited import Visited
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.face.lettered import WIDTH
from layoutdrill.face.section import AUTO, SectionFace
from layoutdrill.picture.looks import PHOTOGRAPHIC, load_look
from layoutdrill.process import load_process, process_names
from layoutdrill.question import Answer, HintStep, Specimen, kinds
from layoutdrill.question.block.kind import ASKS
from layoutdrill.question.die_parts import PARTS
from layoutdrill.question.die_plan import die_plan
from tests.sampling import WHOLE, covering, some

EVERYDAY = frozenset((Path(__file__).parent / "data" / "everyday.txt").read_text(encoding="utf-8").split())
"""
English that needs no explaining. A word of a question that is neither here nor in the glossary fails the test: say it
with a known word, add an everyday one to the file, or explain a trade word in `deck/words.yaml` and on a lesson's page.
"""
CELLS = ("nand2", "latch_gates", "half_adder")
FITTING = [
    (name, cell)
    for name in process_names()
    for cell in CELLS
    if name != "open-130nm" and load_cell(cell).fits(load_process(name))
]
ASKED: Counter[str] = Counter()
OFTEN = len(FITTING) if WHOLE else 3
"""In so many processes each kind is asked; which layers there are, is told of every one by the drawing itself."""
WORD = re.compile(r"[A-Za-z][a-z'-]*[a-z]")


def texts_of(process, cells):
    """Yield what questions say about some cells of a process, and what the plain mode tells of their drawings."""
    for name in cells:
        specimen = drawn(load_cell(name), process.name, 1, 0.3)
        yield from legend(specimen.face.grid_lines())
        yield from specimen.face.meeting_lines()
        yield from SectionFace.of_line(specimen.face, AUTO).told_in(WIDTH)
        yield from (line for line in specimen.face.shape_lines() if not line.startswith("   "))
        for step in HintStep:
            if step is not HintStep.LIFT_METAL:  # a grid of letters
                yield from hint_lines(step, specimen, "")
        for kind in kinds().values():
            if ASKED[kind.name] >= OFTEN:
                continue
            question = kind.ask(specimen, Dice.from_text(f"{kind.name} {CELLS.index(name)}"))
            if question is not None:
                ASKED[kind.name] += 1
                yield from said_of(question)


def said_of(question):
    """Yield what a question says, and its verdicts on no answer, the right one, and each wrong choice or corner."""
    kind, box = kinds()[question.kind], question.specimen.face.box
    yield from (question.prompt, *question.facts, *(hint.text for hint in question.hints))
    yield from (*question.choices, *(mark.words for mark in question.marks))
    wrong = [Answer(letter) for letter in "abcd"[: len(question.choices)] if not question.typed]
    wrong += [Answer(point=(box.x0, box.y0)), Answer(point=box.centre)] if question.pointed else []
    for answer in (Answer(), kind.solution(question), *wrong):
        verdict = kind.judge(question, answer, "reflected-light")
        yield from (verdict.summary, verdict.decides, verdict.instead)


def words_in(texts):
    return {word.casefold().removesuffix("'s") for text in texts for word in WORD.findall(text)}


def legend(lines):
    """Return what stands below a grid of letters."""
    return lines[lines.index("One character is 1 by 1 λ. A row begins with its y; x is on top.") + 1 :]


@cache
def known():
    """Return every word of the glossary's names, in lower case, plurals too."""
    names = " ".join(name for word in words() for name in (word.word, *word.also)).casefold()
    return {form for name in re.findall(r"[a-z'-]+", names) for form in (name, f"{name}s", f"{name}es")}


@pytest.mark.parametrize(("name", "cell"), covering(FITTING))
def test_no_question_uses_a_word_that_nothing_explains(name, cell):
    """Of prompts, choices, facts, verdicts and the plain mode's own lines: everyday English, or the glossary."""
    ports = {port.name.casefold() for cell in CELLS for port in load_cell(cell).ports}
    assert sorted(words_in(texts_of(load_process(name), (cell,))) - known() - EVERYDAY - ports) == []


DIE, DIE_PROCESS = "message_buffer", "metal-gate-sapphire"


@pytest.fixture(scope="module")
def die(chip_of):
    made, cell, process = chip_of(DIE, DIE_PROCESS), load_cell(DIE), load_process(DIE_PROCESS)
    face = DrawnFace(made.layout, process, made.extraction)
    return Specimen(cell.name, cell.structure, (), face, made.cell, cell.boundary, seed=1, ports=cell.ports)


def texts_of_die(die):
    """Yield what the questions of a survey say of a die, its steps and hints, and how plain text tells it in parts."""
    plan = die_plan(die)
    for about in (*ASKS, "where output", "where input", "pad input", "pad output", "pad supply"):
        name, _, part = about.partition(" ")
        question = ASKS[name](die, plan, Dice.from_text(about), part)
        assert question is not None, about
        yield from said_of(question)
    for about in ("column", "row", "cause"):
        yield from said_of(kinds()["board log"].ask_for(about, die, Dice(7)))
    yield from (*STEPS, *ABOUT.values(), *ASKED_SO.values())
    for family in PARTS.values():
        yield from (family.said, family.known_by)
    yield from overview_lines(die.face, Visited())[-3:]
    place = window_at(die.face, *die.face.box.centre)
    yield from (*close_meetings(die.face, place), *rail_lines(die.face), *device_lines(die.face, place))


def test_no_question_on_a_die_uses_a_word_that_nothing_explains(die):
    """Of every sort of question of a survey, its verdicts, its steps and hints, and of the plain mode's lines."""
    pins = {port.name.casefold() for port in load_cell(DIE).ports}
    assert sorted(words_in(texts_of_die(die)) - known() - EVERYDAY - pins) == []


@pytest.mark.parametrize("process", some(["metal-gate-cmos", "silicon-gate-cmos"]))
def test_no_question_on_a_fault_uses_a_word_that_nothing_explains(process):
    """Of questions on defects of three cells, three draws each: what is seen, which kind it is, what it does."""
    kind = kinds()["fault"]
    cells = [drawn(load_cell(name), process, 1, 0.3) for name in CELLS]
    made = [question for cell in cells for seed in range(3) if (question := kind.ask(cell, Dice(seed))) is not None]
    assert len(made) >= 6
    ports = {port.name.casefold() for cell in CELLS for port in load_cell(cell).ports}
    assert sorted(words_in(text for question in made for text in said_of(question)) - known() - EVERYDAY - ports) == []


@pytest.mark.parametrize("word", [word.word for word in words() if not word.structure])
def test_each_word_is_explained_on_a_page_with_a_picture(word):
    """The glossary names the page; it speaks of the word, and shows a picture."""
    entry = find_word(word)
    place = taught(entry)
    assert place is not None, word
    page = load_deck(place.lesson).pages[place.page - 1]
    assert page.pictures
    assert says(page, entry)
    assert len(entry.about) > 20


def test_layers_are_called_in_lessons_what_the_plain_mode_calls_them():
    """Each layer of the processes that lessons draw: its name is in the glossary, or made of words of it."""
    for name in process_names():
        if name == "open-130nm":
            continue
        for layer in load_process(name).layers.values():
            if layer.role != "marker":
                said = set(re.findall(r"[a-z'-]+", layer.title.casefold().replace("n+", "").replace("p+", "")))
                assert not said - known() - EVERYDAY, layer.title


def test_a_word_is_found_by_each_of_its_names():
    """Plurals and other names lead to it; what is not there is told with what is near; each word stands there once."""
    assert len({word.word for word in words()}) == len(words())
    assert find_word("vias").word == "via"
    assert find_word("N-Well").word == "well"
    assert find_word("nand3").word == "NAND"
    with pytest.raises(LayoutdrillError, match="not in the glossary") as caught:
        find_word("crosing")
    assert "crossing" in str(caught.value)


def test_no_page_in_mask_colours_speaks_of_dimples_and_rims():
    """Drawn colours show neither: they belong to photographs."""
    for name in lesson_names():
        lesson = load_deck(name)
        for page in lesson.pages:
            looks = [load_look(picture.look or lesson.look).style for picture in page.pictures]
            if looks and not any(style in PHOTOGRAPHIC for style in looks):
                text = " ".join((page.text, *(picture.caption for picture in page.pictures)))
                assert not re.search(r"\b(dimples?|rims?)\b", text), (name, page.title)


def test_a_gate_named_like_a_little_word_is_not_found_in_every_sentence():
    """AND is taught where AND is written, not on the first page that says “and”; a plain word is found in any case."""
    page = Page("Power and ground", "Vias, and contacts.")
    assert not says(page, find_word("AND"))
    assert says(Page("An AND2", "x"), find_word("AND"))
    assert says(page, find_word("via"))
