"""Where neighbours begin beyond the cell, questions stay fair: counts and names are the cell's, and that is told."""

from functools import cache
from itertools import islice

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import CROWDED, drawn
from layoutdrill.dice import Dice
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.process import load_process, process_names
from layoutdrill.question import kinds
from tests.each import each
from tests.question.fairness import Oracle, grade, unfair
from tests.sampling import WHOLE, covering, some

CELLS = ("inverter", "aoi21", "latch_static")
CASES = [
    (process, cell)
    for process in process_names()
    for cell in CELLS
    if process != "open-130nm" and load_cell(cell).fits(load_process(process))
]


TAKEN = covering(CASES)


@cache
def crowded(cell, process):
    """Return the first drawing with a neighbour, in a whole sweep the first two."""
    found = (drawn(load_cell(cell), process, seed, 0.9) for seed in range(30))
    with_frame = (specimen for specimen in found if specimen.frame is not None)
    return tuple(islice(with_frame, 2 if WHOLE else 1))


def _at(specimen, question):
    return specimen.extraction.transistor_at(question.key.x, question.key.y)


def strangers(specimen):
    own = {t.name for t in specimen.netlist.transistors}
    return [t for t in specimen.extraction.netlist.transistors if t.name not in own]


@each(("process", "cell"), TAKEN)
def test_questions_on_crowded_drawings_are_fair(process, cell):
    """The same tests as for plain drawings, and each question tells where the cell ends."""
    found = []
    for specimen in crowded(cell, process):
        assert strangers(specimen)
        oracle = Oracle(specimen)
        for name, kind in kinds().items():
            for turn in some(range(6)):
                question = kind.ask(specimen, Dice.from_text(f"{name} {turn}"))
                if question is not None:
                    found += [(name, specimen.seed, turn, fault) for fault in unfair(kind, question, oracle)]
                    assert any("neighbour" in fact for fact in question.facts), name
    assert not found


# Source: the library's own netlist of the cell, which the drawing was not read from.
@each(("process", "cell"), TAKEN)
def test_only_the_cell_is_counted(process, cell):
    """Transistors as in the cell's netlist; contacts and crossings within the frame, and none left out there."""
    asked = set()
    own = merge_fingers(load_cell(cell).netlist(load_process(process))).count()
    for specimen in crowded(cell, process):
        frame, oracle = specimen.frame, Oracle(specimen)
        for turn in range(40):
            key = kinds()["count"].ask(specimen, Dice(turn)).key
            asked.add(key.what)
            if key.what == "transistors":
                assert key.all == own
                continue
            assert all(frame.contains(*place) for place in key.places)
            assert key.right == len(key.places)
            if key.what == "contacts":
                drawn_cuts = [r.centre for r in specimen.face.layout.flattened().shapes["contact"] if frame.overlaps(r)]
                assert len({c for c in drawn_cuts if oracle.cuts(*c)}) == key.right
    assert "transistors" in asked
    if cell == "inverter":
        assert "contacts" in asked


@each(("process", "cell"), TAKEN)
def test_polarity_is_asked_of_the_cell_s_own(process, cell):
    """A neighbour that is cut off may not hang where its row would tell."""
    for specimen in crowded(cell, process):
        cut = {t.name for t in strangers(specimen)}
        for turn in range(12):
            question = kinds()["polarity"].ask(specimen, Dice(turn))
            assert question is None or _at(specimen, question) not in cut


@each("process", sorted({process for process, _ in CASES}))
def test_a_neighbour_s_transistor_has_its_kind(process):
    """Asked what lies on one, “n transistor” is right of an n, and wrong of a p."""
    seen = 0
    for cell in CELLS:
        if (process, cell) not in TAKEN:
            continue
        for specimen in crowded(cell, process):
            kinds_of = {t.name: t.kind.value for t in strangers(specimen)}
            for turn in range(40):
                question = kinds()["spot"].ask(specimen, Dice(turn))
                kind = kinds_of.get(_at(specimen, question))
                if kind is not None:
                    seen += 1
                    credits_ = [grade(kinds()["spot"], question, f"{one} transistor").credit for one in ("n", "p")]
                    assert credits_ == ([1, 0.5] if kind == "n" else [0.5, 1])
    assert seen


def test_neighbours_are_shown_from_crowded_on():
    """Below that difficulty the cell stands alone, and no frame is told."""
    assert all(drawn(load_cell("nand2"), "silicon-gate-cmos", seed, CROWDED - 0.1).frame is None for seed in range(8))
    specimen = drawn(load_cell("nand2"), "silicon-gate-cmos", 1, 0.3)
    assert kinds()["name"].ask(specimen, Dice(1)).facts == ()
