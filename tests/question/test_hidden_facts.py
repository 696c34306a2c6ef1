"""The evidence rule: what a look hides is told with the question, or the question is refused."""

from dataclasses import replace
from itertools import product

import pytest

from layoutdrill.dice import Dice
from layoutdrill.extract import extract
from layoutdrill.face import DrawnFace
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.picture.evidence import Fact, Sight, facts_of, labelled, shown, visible
from layoutdrill.picture.looks import PHOTOGRAPHIC, load_look, look_names
from layoutdrill.question import HiddenFactError, ask_in_look, fitting_kinds, kinds, tell_hidden_facts
from tests.question.conftest import CELL_KINDS
from tests.question.fairness import unfair
from tests.sampling import covering, some

SUITING = {"sequence": "latch_gates", "address": "half_adder", "two stages": "aoi21", "across a seam": "aoi21"}
STICK = load_look("stick-colours")


def hiding(monkeypatch, *facts):
    """Make every look show all but the given facts."""

    def shows(face, light, wanted=None):
        return (facts_of(face.process) if wanted is None else frozenset(wanted)) - set(facts)

    monkeypatch.setattr(DrawnFace, "shows", shows)


def told_in(question, look):
    return tell_hidden_facts(kinds()[question.kind], question, look)


def asked(specimen, name, wanted=lambda key: True):
    kind = kinds()[name]
    return next(q for q in (kind.ask(specimen, Dice(seed)) for seed in range(300)) if q is not None and wanted(q.key))


@pytest.mark.parametrize("name", CELL_KINDS)
def test_a_look_that_shows_all_changes_nothing(drawn, monkeypatch, name):
    hiding(monkeypatch)
    question = asked(drawn(SUITING.get(name, "nand2"), "silicon-gate-cmos", 1), name)
    assert told_in(question, STICK) == question


def test_what_decides_a_name_is_told(drawn, monkeypatch):
    """NAND and NOR swap when n and p are exchanged, so where kinds do not show the rails are told."""
    hiding(monkeypatch, Fact.KIND, Fact.RAILS)
    question = told_in(asked(drawn("nand2", "metal-gate-sapphire", 1), "name"), STICK)
    told = [fact for fact in question.facts if "VDD" in fact or "VSS" in fact]
    assert len(told) == 2
    assert told_in(question, STICK).facts == question.facts


def test_the_relabelled_drawing_has_the_other_answer(drawn):
    """The relabelling check itself: exchange n+ and p+ and the rail names, and a NAND2 reads as a NOR2."""
    nand, nor = drawn("nand2", "metal-gate-sapphire", 1), drawn("nor2", "metal-gate-sapphire", 1)
    layout = nand.face.layout
    shapes = {**layout.shapes, "nplus": layout.shapes["pplus"], "pplus": layout.shapes["nplus"]}
    other = extract(labelled(replace(layout, shapes=shapes), {"VDD": "VSS", "VSS": "VDD"}), nand.process)
    assert compare(nor.netlist, other.netlist, ports=False, merge=Merge.FINGERS).equal


@pytest.mark.parametrize(
    ("name", "fact"),
    [
        ("name", Fact.GATE),
        ("name", Fact.CONTACT),
        ("count", Fact.GATE),
        ("same net", Fact.CONTACT),
        ("rails", Fact.CONTACT),
    ],
)
def test_what_cannot_be_told_in_a_line_is_refused(drawn, monkeypatch, name, fact):
    """Where gates or contacts do not show, the questions that rest on them are refused, and the reason is given."""
    hiding(monkeypatch, fact)
    made = drawn("nand2", "silicon-gate-cmos", 1)
    question = asked(made, name, lambda key: getattr(key, "what", "stripes") != "contacts")
    with pytest.raises(HiddenFactError, match="does not show"):
        told_in(question, STICK)


def test_the_answer_is_never_told(drawn, monkeypatch):
    """“Point at VDD” is refused where rails do not show: to tell which is VDD would be the answer."""
    hiding(monkeypatch, Fact.RAILS, Fact.KIND)
    specimen = drawn("nand2", "metal-gate-sapphire", 1)
    question = asked(specimen, "point", lambda key: key.target == "VDD")
    with pytest.raises(HiddenFactError, match="would be the answer"):
        told_in(question, STICK)
    rails = told_in(asked(specimen, "rails"), STICK)
    assert [fact for fact in rails.facts if "transistor" in fact]
    assert not [fact for fact in rails.facts if "VDD" in fact or "VSS" in fact]


def test_polarity_by_the_well_needs_the_well(drawn, monkeypatch):
    """Where well edges do not show, “it lies in the well” is not asked; by the rail it still is."""
    hiding(monkeypatch, Fact.WELL)
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    with pytest.raises(HiddenFactError):
        told_in(asked(specimen, "polarity", lambda key: key.feature == "well"), STICK)
    for seed in range(10):
        question = ask_in_look(kinds()["polarity"], specimen, Dice(seed), STICK)
        assert question is not None
        assert question.key.feature == "rail"


def test_a_kind_that_a_look_bars_does_not_fit(drawn, monkeypatch):
    """`fitting_kinds` with a look leaves out what cannot be asked in it."""
    hiding(monkeypatch, Fact.CONTACT, Fact.UNDER_METAL, Fact.POLY_UNDER_METAL)
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    fitting = fitting_kinds(specimen, STICK)
    assert "same net" not in fitting
    assert "count" in fitting
    assert "same net" in fitting_kinds(specimen)


def test_transmitted_light_bars_gates_and_contacts(drawn):
    """Metal is opaque to transmitted light (common practice): on sapphire no contact or gate is asked for in it."""
    look = load_look("transmitted-light")
    specimen = drawn("mux2_tg", "metal-gate-sapphire", 1)
    assert not {Fact.GATE, Fact.CONTACT} & visible(look, specimen.process)
    assert not {"name", "spot", "same net", "rails"} & set(fitting_kinds(specimen, look))
    bulk = fitting_kinds(drawn("nand2", "silicon-gate-cmos", 1), look)
    assert all(kinds()[name].own_look for name in bulk)  # shown in another look, whatever was chosen


def test_rails_are_asked_where_wells_are_faint(drawn, monkeypatch):
    """A question by taps whose well is too faint in this lot is asked all the same, and says where the well lies."""
    hiding(monkeypatch, Fact.WELL)
    question = asked(drawn("nand2", "silicon-gate-cmos", 1), "rails", lambda key: key.feature == "taps")
    told = told_in(question, load_look("reflected-light")).facts
    assert any("n-well is too faint" in fact for fact in told)


@pytest.mark.parametrize(
    ("process", "name"), covering(product(("silicon-gate-cmos", "metal-gate-sapphire"), look_names()))
)
def test_in_every_look_only_what_it_shows_is_asked(drawn, process, name):
    """Whatever a look allows rests on facts that it shows or that are told, and is as fair as any question."""
    look = load_look(name)
    for cell in some(("nand2", "mux2_tg")):
        specimen = drawn(cell, process, 1)
        seen = shown(Sight(look, specimen.process, specimen.seed))
        for kind in (kind for kind in kinds().values() if not kind.own_look):
            for seed in some(range(2)):
                question = ask_in_look(kind, specimen, Dice(seed), look)
                if question is None:
                    continue
                missing = (kind.needs(question) & facts_of(specimen.process)) - seen
                told = [
                    f
                    for f in question.facts
                    if "is the wire" in f or "too faint" in f or f.startswith("The transistor ")
                ]
                assert missing <= {Fact.KIND, Fact.RAILS, Fact.KINDS_APART, Fact.WELL}
                assert bool(told) == bool(missing)
                assert not unfair(kind, question)


@pytest.mark.parametrize("name", [name for name, kind in kinds().items() if kind.own_look])
def test_a_question_with_a_look_of_its_own_is_judged_in_that_one(drawn, name):
    """Whatever was chosen, mask colours too, it is shown in a photograph that shows what it needs."""
    specimen = drawn(SUITING.get(name, "nand2"), "silicon-gate-cmos", 1)
    question = next(q for seed in range(40) if (q := ask_in_look(kinds()[name], specimen, Dice(seed), STICK)))
    look = load_look(question.look)
    assert look.style in PHOTOGRAPHIC
    needed = kinds()[name].needs(question) & facts_of(specimen.process)
    wear = question.specimen.wear
    assert needed <= shown(Sight(look, specimen.process, specimen.seed, max(3, question.scale), wear), needed)
