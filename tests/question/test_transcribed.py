"""Netlists that learners write are graded by isomorphism, judged here by networkx; the wrong line is named."""

import os

import networkx as nx
import pytest
from networkx.algorithms.isomorphism import categorical_node_match

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.question import kinds
from tests.question.fairness import grade, netlist_graph, right_answers

KIND = kinds()["transcribe"]
CELLS = (
    ("nand2", "silicon-gate-cmos"),
    ("aoi21", "metal-gate-cmos"),
    ("xor2_compact", "silicon-gate-cmos"),
    ("latch_static", "metal-gate-sapphire"),
    ("nor3", "silicon-gate-nmos"),
    ("mux2_tg", "silicon-gate-cmos-2m"),
)
SAMPLE = int(os.environ.get("LAYOUTDRILL_MUTATIONS", "240"))


def asked(drawn, cell, process, seed=1):
    return KIND.ask(drawn(cell, process, seed), Dice(1))


def mutated(rows, nets, dice):
    """Return the rows with one slip, and the place of the row that it is in (None where a row is missing)."""
    rows = [list(row) for row in rows]
    at = dice.below(len(rows))
    slip = dice.pick(("terminal", "kind", "missing", "more"))
    if slip == "terminal":
        place = dice.between(1, 3)
        rows[at][place] = dice.pick([net for net in nets if net != rows[at][place]])
    elif slip == "kind":
        rows[at][0] = "p" if rows[at][0] == "n" else "n"
    elif slip == "missing":
        del rows[at]
        at = None
    else:
        rows.insert(at, [dice.pick("np"), dice.pick(nets), dice.pick(nets), f"extra{dice.below(9)}"])
    return [" ".join(row) for row in rows], at


def netlist_of(lines):
    made = (Transistor(f"T{i}", Kind(k), g, s, d) for i, (k, g, s, d) in enumerate(line.split() for line in lines))
    return Netlist("said", (), tuple(made))


# Source: networkx, isomorphism of labelled graphs.
def test_slips_are_graded_as_networkx_judges_and_the_wrong_line_is_named(drawn):
    """Full credit exactly where the graphs are isomorphic; else a line or a place on the picture is named."""
    same_sort = categorical_node_match("sort", "")
    named = full = 0
    for number in range(SAMPLE):
        question = asked(drawn, *CELLS[number % len(CELLS)])
        key, netlist = question.key, question.specimen.netlist
        rows = [row.split() for row in right_answers(question)[0].split("; ")]
        dice = Dice.from_text(f"slip {number}")
        lines, at = mutated(rows, list(netlist.nets), dice)
        verdict = grade(KIND, question, "; ".join(dice.shuffled(lines)))
        truth = netlist_graph(netlist_of(right_answers(question)[0].split("; ")), key)
        equal = nx.is_isomorphic(netlist_graph(netlist_of(lines), key), truth, node_match=same_sort)
        assert (verdict.credit == 1) == equal, (question.specimen.cell, lines, verdict.summary)
        full += equal
        if not equal:
            said = verdict.summary
            assert "not so:" in said or "see " in said or "written twice:" in said
            named += f"“{lines[at]}”" in said if at is not None else "see " in said
    wrong = SAMPLE - full
    assert wrong > SAMPLE // 2
    assert named == wrong, (named, wrong)


def test_half_a_netlist_earns_half(drawn):
    """Two of four transistors, no more."""
    question = asked(drawn, "nand2", "silicon-gate-cmos")
    lines = right_answers(question)[0].split("; ")
    verdict = grade(KIND, question, "; ".join(lines[:2]))
    assert verdict.credit == 0.5
    assert "2 of 4 right" in verdict.summary
    assert len(verdict.transistors) == 2


def test_source_and_drain_order_and_inner_names_are_free(drawn):
    """A NAND2 written from memory of the textbook, with names of one's own."""
    question = asked(drawn, "nand2", "silicon-gate-cmos")
    said = "p a vdd y; p b y VDD; n A y mid; n b mid vss"
    swapped = "p a vdd y; p b y VDD; n b y mid; n a mid vss"
    credits_ = sorted(grade(KIND, question, text).credit for text in (said, swapped))
    assert credits_[1] == 1  # which of the two is on top is for the picture to say
    assert credits_[0] < 1


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("n a y", "line 1 has 2 nets"),
        ("q a y vss", 'line 1 begins with "q"'),
        ("n a y vss; M1 y a vss vss wire", 'line 2: no kind of transistor "wire"'),
        ("n a y +5V", "no name of a net"),
        ("n a y vss;" * 300, "characters"),
    ],
)
def test_what_cannot_be_read_is_told_by_its_line(drawn, said, words):
    with pytest.raises(LayoutdrillError, match=words.replace("+", r"\+")):
        KIND.accept(asked(drawn, "nand2", "silicon-gate-cmos"), said)
