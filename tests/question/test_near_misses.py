"""Three graded near misses for each kind: what each earns, and that the words say why."""

import pytest

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face.materials import Material
from layoutdrill.question import Answer, kinds
from layoutdrill.question.count import MOST
from tests.each import each
from tests.question.conftest import CELL_KINDS
from tests.question.fairness import grade

SUITING = {"sequence": "latch_gates", "address": "half_adder"}


def ask(specimen, name, wanted, seeds=range(400)):
    """Return the first question of a kind whose key meets a condition."""
    kind = kinds()[name]
    for seed in seeds:
        question = kind.ask(specimen, Dice(seed))
        if question is not None and wanted(question.key):
            return kind, question
    raise AssertionError(f"no such {name} question")


@pytest.mark.parametrize(
    ("cell", "typed", "credit", "word"),
    [
        ("nand2", "NAND", 0.5, "not all of it"),
        ("nand2", "nand3", 0.25, "count again"),
        ("nand2", "NOR2", 0, "Not a NOR2"),
        ("aoi21", "and-or-invert", 0.5, "not all of it"),
        ("aoi21", "complex gate", 0.5, "not all of it"),
        ("latch_static", "flip-flop", 0, "register bit"),
        ("xor2_compact", "XNOR2", 0, "Not an XNOR2"),
    ],
)
def test_names(drawn, cell, typed, credit, word):
    """A family without its number earns half, a wrong number a quarter, a look-alike nothing."""
    kind, question = ask(drawn(cell, "silicon-gate-cmos", 1), "name", lambda key: True)
    verdict = grade(kind, question, typed)
    assert verdict.credit == credit
    assert word in verdict.summary


def test_a_look_alike_is_named_for_the_side_by_side(drawn):
    """A wrong name comes back as the structure it was confused with, and the verdict says what tells the two apart."""
    kind, question = ask(drawn("nand2", "silicon-gate-cmos", 1), "name", lambda key: True)
    verdict = grade(kind, question, "2-input nor gate")
    assert verdict.confused_with == "NOR2"
    assert verdict.transistors
    told = kind.judge(question, kind.accept(question, "2-input nor gate"))
    assert told.instead.startswith("Were it a NOR2, there would be something else to see: ")


def test_picking_a_wrong_letter_earns_nothing(drawn):
    """Part credit for a family is for typed answers only: with the right name on the screen, NAND3 is just wrong."""
    for seed in range(200):
        kind, question = ask(drawn("nand2", "silicon-gate-cmos", 1), "name", lambda key: True, [seed])
        for letter, choice in zip("abcd", question.choices, strict=True):
            assert grade(kind, question, letter).credit == (choice == "NAND2")


def test_counts(drawn):
    """A third for each of the three numbers; words name the one that is wrong."""
    kind, question = ask(drawn("nand3", "silicon-gate-cmos", 1), "count", lambda key: key.what == "transistors")
    assert grade(kind, question, "3 3 7").credit == pytest.approx(2 / 3, abs=0.001)
    assert "in all: 6, not 7" in grade(kind, question, "3 3 7").summary
    assert grade(kind, question, "2 3 5").credit == pytest.approx(1 / 3, abs=0.001)
    assert grade(kind, question, "6 6 12").credit == 0  # drawn without fingers, there is no second way to count
    assert grade(kind, question, "3 n and 3 p").credit == 1


def test_counting_every_finger_is_half_right(drawn):
    """Who counts each finger of a doubled transistor is told so, and gets half."""
    for seed in range(1, 30):
        specimen = drawn("inverter", "silicon-gate-cmos", seed)
        stripes = len(specimen.netlist.transistors)
        if stripes > 2:
            kind, question = ask(specimen, "count", lambda key: key.what == "transistors")
            n, p, everything = question.key.every
            verdict = grade(kind, question, f"{n} {p} {everything}")
            assert (everything, verdict.credit) == (stripes, 0.5)
            assert "every finger" in verdict.summary
            return
    raise AssertionError("no drawing with fingers among 29 seeds")


def test_contacts_one_off(drawn):
    """One off among six or more contacts is close: half."""
    kind, question = next(
        ask(specimen, "count", lambda key: key.what == "contacts" and key.right >= 6)
        for specimen in (drawn("nand2", "metal-gate-sapphire", seed) for seed in range(1, 30))
        if 6 <= sum(joint.material is not Material.METAL for joint in specimen.face.scene.joints) <= MOST
    )
    right = question.key.right
    assert grade(kind, question, str(right)).credit == 1
    assert grade(kind, question, str(right - 1)).credit == 0.5
    assert grade(kind, question, str(right + 2)).credit == 0


def test_spots(drawn):
    """A contact is no crossing; “diffusion” is true of a crossunder but too wide; the other polarity is half."""
    specimen = drawn("mux2_tg", "metal-gate-sapphire", 1)
    kind, question = ask(specimen, "spot", lambda key: key.truths == ("contact",))
    assert grade(kind, question, "crossing").credit == 0
    assert "contact" in grade(kind, question, "crossing").summary
    assert grade(kind, question, "cut").credit == 1
    kind, question = ask(specimen, "spot", lambda key: key.truths == ("crossunder",))
    assert grade(kind, question, "diffusion").credit == 0.5
    assert grade(kind, question, "tunnel").credit == 1
    kind, question = ask(specimen, "spot", lambda key: key.truths == ("transistor",) and key.polarity == "n")
    assert grade(kind, question, "p transistor").credit == 0.5
    assert grade(kind, question, "nmos").credit == 1
    assert grade(kind, question, "contact hole").credit == 0


def test_points(drawn):
    """The other kind of transistor earns half, the net short of its channel half, contact for crossing a quarter."""
    specimen = drawn("mux2_tg", "silicon-gate-cmos", 1)
    kind, question = ask(specimen, "point", lambda key: key.target == "n transistor")
    p = next(t.name for t in specimen.netlist.transistors if t.kind == "p")
    verdict = kind.grade(question, Answer("", specimen.extraction.channel(p)[0].centre))
    assert verdict.credit == 0.5
    assert "but p" in verdict.summary
    kind, question = ask(specimen, "point", lambda key: key.target == "gate of s")
    label = next(t for t in specimen.face.layout.labels if t.text == "s")
    verdict = kind.grade(question, Answer("", (label.x, label.y)))
    assert verdict.credit == 0.5
    assert "follow it on to a channel" in verdict.summary
    kind, question = ask(specimen, "point", lambda key: key.target == "crossing")
    contact = next(r for n in question.key.near for r in n.rects if n.credit == 0.25)
    at = (contact[0] + contact[2]) // 2, (contact[1] + contact[3]) // 2
    assert kind.grade(question, Answer("", at)).credit == 0.25


def test_rails(drawn):
    """Rails found but swapped earn the feature's third; a wrong feature costs its third."""
    kind, question = ask(drawn("nand2", "silicon-gate-cmos", 1), "rails", lambda key: len(key.letters) >= 4)
    high, low, cue = question.key.high, question.key.low, question.key.right
    other = next(letter for letter in question.key.letters if letter not in (high, low))
    wrong = next(letter for letter in "abcd" if letter != cue)
    assert grade(kind, question, f"{low} {high} {cue}").credit == pytest.approx(1 / 3, abs=0.001)
    assert "other way round" in grade(kind, question, f"{low} {high} {cue}").summary
    assert grade(kind, question, f"{high} {low} {wrong}").credit == pytest.approx(2 / 3, abs=0.001)
    assert grade(kind, question, f"{other} {low} {cue}").credit == pytest.approx(2 / 3, abs=0.001)
    assert grade(kind, question, f"{other} {high} {wrong}").credit == 0


def test_nets(drawn):
    """One of two letters earns half, both and a wrong one half, only a wrong one nothing."""
    kind, question = ask(drawn("mux2_tg", "silicon-gate-cmos", 1), "same net", lambda key: len(key.right) == 2)
    one, two = question.key.right
    wrong = next(letter for letter in question.key.letters if letter not in (one, two))
    assert grade(kind, question, one).credit == 0.5
    assert f"missed: {two}" in grade(kind, question, one).summary
    assert grade(kind, question, f"{one} {two} {wrong}").credit == 0.5
    assert grade(kind, question, wrong).credit == 0
    assert grade(kind, question, "none").credit == 0
    assert grade(kind, question, f"p {two} {one}").credit == 1


def test_polarity(drawn):
    """The right word alone earns half, with a reason that is not so half, the wrong word nothing."""
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    kind, question = ask(specimen, "polarity", lambda key: key.right == "p" and key.feature == "well")
    assert grade(kind, question, "p").credit == 0.5
    assert grade(kind, question, "p, outside the well").credit == 0.5
    assert grade(kind, question, "n, it lies in the well").credit == 0
    assert "what follows" in grade(kind, question, "n, it lies in the well").summary
    assert grade(kind, question, "p-channel: it is in the well").credit == 1


@each(
    ("name", "typed"),
    [
        ("name", ""),
        ("name", "e"),
        ("name", "foo"),
        ("count", "many"),
        ("count", "2 2"),
        ("spot", "a banana"),
        ("point", "left"),
        ("rails", "P"),
        ("rails", "P Q"),
        ("same net", "X Y"),
        ("same net", "12"),
        ("polarity", "green"),
    ],
)
def test_what_is_no_answer_is_said_so(drawn, name, typed):
    """Text that cannot be an answer costs nothing: it is refused with a remark on what to type."""
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    kind, question = ask(specimen, name, lambda key: getattr(key, "what", "transistors") == "transistors")
    with pytest.raises(LayoutdrillError) as caught:
        kind.accept(question, typed)
    assert caught.value.todo


@each("name", CELL_KINDS)
def test_no_answer_earns_nothing_and_teaches_all(drawn, name):
    """A skipped question still tells what was right and which feature decides."""
    kind, question = ask(drawn(SUITING.get(name, "aoi21"), "silicon-gate-cmos", 1), name, lambda key: True)
    full, none = kind.grade(question, kind.solution(question)), kind.grade(question, Answer())
    assert full.correct
    assert (none.credit, none.right, none.decides) == (0, full.right, full.decides)
    assert full.right in none.summary


@pytest.mark.parametrize("process", ["metal-gate-cmos", "silicon-gate-cmos", "silicon-gate-nmos", "metal-gate-pmos"])
def test_no_reason_offered_for_a_rail_is_true_and_beside_the_point(drawn, process):
    """“VDD is the upper one” may be true of a picture and is still not how one tells: then it is not offered."""
    offered = 0
    for seed in range(6):
        specimen = drawn("nand2", process, seed)
        question = kinds()["rails"].ask(specimen, Dice.from_text(f"rails {seed}"))
        if question is None:
            continue
        low, high = specimen.process.supplies
        metal = {
            net: [w.rect for w in specimen.face.scene.wires if w.net == net and w.conductor.startswith("metal")]
            for net in (low, high)
        }
        middle = {
            net: sum(r.area * r.centre[1] for r in rects) / sum(r.area for r in rects) for net, rects in metal.items()
        }
        width = {net: max(min(r.width, r.height) for r in rects) for net, rects in metal.items()}
        other = {low: high, high: low}
        for choice in question.choices:
            rail = choice.split()[0]
            if "upper" in choice or "wider" in choice:
                offered += 1
                size = middle if "upper" in choice else width
                assert size[rail] <= size[other[rail]]
    assert offered
