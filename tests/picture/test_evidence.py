"""The evidence rule: what is said of each look agrees with what the trade knows of light and metal."""

import pytest

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.picture.evidence import TEXT, Fact, facts_of, labelled, told_apart, visible
from layoutdrill.picture.looks import load_look, look_names
from layoutdrill.picture.pen import Pen
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import load_films
from layoutdrill.process.terms import Mode
from tests.each import each

PAINTED = ("stick-colours", "ink", "high-contrast")


@each("name", process_names())
@each("look", look_names())
def test_only_what_a_process_has_is_visible(name, look):
    """Visible facts are facts of the process, and each has words."""
    process = load_process(name)
    assert visible(load_look(look), process) <= facts_of(process) <= set(TEXT)


@each("name", process_names())
@each("look", PAINTED)
def test_painted_looks_show_everything(name, look):
    """Tints, ink and contrast show through wires, so they hide no fact; rails are known where there are two kinds."""
    process = load_process(name)
    two = len({rule.kind for rule in process.transistors}) == 2
    assert visible(load_look(look), process) == facts_of(process) - (set() if two else {Fact.RAILS})


@each("name", process_names())
def test_the_depletion_implant_is_not_seen(name):
    """An implant leaves no film: it must be inferred from the circuit (common practice)."""
    process = load_process(name)
    seen = visible(load_look("reflected-light"), process)
    assert Fact.DEPLETION not in seen
    has = any(rule.mode is Mode.DEPLETION for rule in process.transistors)
    assert (Fact.DEPLETION in facts_of(process)) == has


@each("name", process_names())
def test_steps_show_in_metal_unless_it_is_planarised(name):
    """Conformal metal shows what runs below it; planarised metal hides it (common practice)."""
    process = load_process(name)
    seen = visible(load_look("reflected-light"), process)
    assert {Fact.GATE, Fact.CONTACT} <= seen
    assert (Fact.UNDER_METAL in seen) is (not load_films(process).planar)


def test_metal_hides_all_below_it_in_transmitted_light():
    """Light from below cannot pass metal, so gates and contacts of a metal-gate die are hidden (common practice)."""
    process = load_process("metal-gate-sapphire")
    seen = visible(load_look("transmitted-light"), process)
    assert not seen & {Fact.GATE, Fact.CONTACT, Fact.UNDER_METAL}
    assert visible(load_look("transmitted-light"), load_process("silicon-gate-cmos")) == frozenset()


@pytest.mark.parametrize("look", look_names())
def test_labels_are_never_seen(look):
    """Swapping the rails' names changes no pixel: no picture says by itself which rail is which."""
    process = load_process("metal-gate-sapphire")
    metal = (Rect(0, 0, 40, 8), Rect(0, 40, 40, 48))
    layout = Layout("rails", {"metal": metal}, (Label("VSS", "metal", 4, 4), Label("VDD", "metal", 4, 44)))
    swapped = labelled(layout, {"VSS": "VDD", "VDD": "VSS"})
    assert {t.text for t in swapped.labels if t.y == 4} == {"VDD"}
    assert not told_apart(layout, swapped, process, load_look(look))


def test_a_hue_that_another_lot_has_does_not_count():
    """Two drawings that differ in a doping without any film of its own are the same to the reader."""
    process = load_process("open-130nm")
    pen = Pen(process)
    bare = Layout("a", {"poly": (pen.box(0, 0, 10, 2),)})
    marked = Layout("b", {"poly": (pen.box(0, 0, 10, 2),), "nplus": (pen.box(0, 0, 10, 2),)})
    assert not told_apart(bare, marked, process, load_look("reflected-light"))


def test_lifting_the_metal_reveals_what_it_hid():
    """With the wire lifted off, a planarised die shows whether poly ran on below it."""
    process = load_process("open-130nm")
    pen, look = Pen(process), load_look("reflected-light")
    over = {"li1": (pen.box(2, -3, 10, 11),)}
    run = Layout("run", {"poly": (pen.box(-4, 3, 16, 5),), **over})
    cut = Layout("cut", {"poly": (pen.box(-4, 3, 4, 5), pen.box(8, 3, 16, 5)), **over})
    assert not told_apart(run, cut, process, look)
    assert told_apart(run, cut, process, look, hidden={"li1"})
