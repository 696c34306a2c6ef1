"""What is shown of progress: rows, confusions, calibration, advice; on the terminal, as JSON, as a page."""

import json

from layoutdrill.drill.progress_page import lesson_bar, progress_html, progress_json, progress_lines
from layoutdrill.learning.progress import CALIBRATED_FROM, progress_of
from layoutdrill.printable import in_encoding
from tests.learning.make import NAND, NOR, SKILLS, at, attempt


def told_of_a_month():
    told = [attempt(s, day=d) for s in (NAND,) for d in (0, 0.1, 1, 9)]
    told += [attempt(NOR, day=d, right=False, said="NAND") for d in (0, 1, 2)]
    return told


def test_the_figures_follow_from_the_answers():
    """One skill mastered, one weak; three confusions; the weakest gets advice that names what it is taken for."""
    progress = progress_of(SKILLS, told_of_a_month(), at(10))
    state = {row.key: row.state for row in progress.skills}
    assert state["name: NAND"] == "mastered"
    assert state["name: NOR"] == "weak"
    assert state["name: latch"] == "not begun"
    assert [(c.true, c.said, c.count) for c in progress.confusions] == [("NOR", "NAND", 3)]
    assert progress.weakest[0].key == "name: NOR"
    assert "NAND" in progress.weakest[0].words
    gates = next(row for row in progress.lessons if row.lesson == 5)
    assert (gates.skills, gates.begun, gates.held, gates.mastered) == (2, 2, 0, 1)
    assert (progress.answers, progress.days) == (7, 4)


def test_what_is_on_its_way_is_told_before_it_is_mastered():
    """Right without help on the last two days is held, shown half full beside the mastered; one miss, and it is not."""
    told = [attempt(NAND, day=d) for d in (0, 0.1, 1, 9)] + [attempt(NOR, day=d) for d in (0, 2)]
    progress = progress_of(SKILLS, told, at(10))
    assert {row.key: row.state for row in progress.skills}["name: NOR"] == "held"
    gates = next(row for row in progress.lessons if row.lesson == 5)
    assert (gates.held, gates.mastered) == (1, 1)
    assert lesson_bar(gates) == "█████▒▒▒▒▒"
    missed = progress_of(SKILLS, [*told, attempt(NOR, day=4, right=False)], at(10))
    assert {row.key: row.state for row in missed.skills}["name: NOR"] == "due"


# Source: E. B. Wilson's interval, J. Am. Stat. Assoc. 22, 1927: none of one reaches .79, two of seven .64.
def test_one_miss_says_less_than_several():
    """A skill missed once comes after one that is often missed, though its share is lower."""
    told = [attempt(NAND, day=0, right=False)] + [attempt(NOR, day=d, right=d in (1, 3)) for d in range(7)]
    weakest = progress_of(SKILLS, told, at(8)).weakest
    assert [advice.key for advice in weakest] == ["name: NOR", "name: NAND"]


def test_calibration_waits_for_fifty_answers():
    """Before that nothing is said; then the share right at each step."""
    told = [attempt(NAND, day=0.001 * n, right=n % 2 == 0, confidence=1 + n % 2) for n in range(CALIBRATED_FROM)]
    assert progress_of(SKILLS, told[:-1], at(1)).calibration == ()
    guessed, fairly = progress_of(SKILLS, told, at(1)).calibration
    assert (guessed.name, guessed.right, guessed.asked) == ("guessed", 25, 25)
    assert (fairly.right, fairly.asked) == (0, 25)


def test_every_form_shows_it():
    """Lines fit 79 columns; JSON reads back; the page stands alone; nothing answered says what to do."""
    progress = progress_of(SKILLS, told_of_a_month(), at(10))
    titles = {5: "Series & parallel"}
    lines = progress_lines(progress, titles)
    assert all(len(line) <= 79 for line in lines), max(lines, key=len)
    assert any("1 of 2 mastered, 2 begun" in line for line in lines)
    assert len(json.loads(progress_json(progress))["skills"]) == len(SKILLS)
    page = progress_html(progress, titles)
    assert "Series &amp; parallel" in page
    assert "src=" not in page
    assert "href=" not in page
    assert "today" in progress_lines(progress_of(SKILLS, [], at(0)), titles)[0]


def test_the_lines_can_be_printed_where_there_is_only_ascii():
    """Bars of a terminal without their glyphs are of signs that every one has."""
    lines = progress_lines(progress_of(SKILLS, told_of_a_month(), at(10)), {5: "Series"})
    bars = [in_encoding(line, "ascii") for line in lines if "█" in line]
    assert bars
    assert all("#" in line and "?" not in line for line in bars)
