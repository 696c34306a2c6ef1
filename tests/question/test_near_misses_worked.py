"""Three graded near misses for each kind that is worked out or looks beyond one cell: what it earns, and why."""

import re
from dataclasses import replace

import pytest

from layoutdrill.dice import Dice
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.question import kinds
from tests.question.fairness import CHECKS, Oracle, grade


def ask(specimen, name, wanted=lambda question: True, seeds=range(200)):
    """Return the first question of a kind that meets a condition."""
    kind = kinds()[name]
    for seed in seeds:
        question = kind.ask(specimen, Dice(seed))
        if question is not None and wanted(question):
            return kind, question
    raise AssertionError(f"no such {name} question")


def graded(kind, question, text):
    verdict = grade(kind, question, text)
    return verdict.credit, verdict.summary


def test_a_probe(drawn):
    """A pass transistor's high is poor (textbook: n loses a threshold): full is half right, the other side is not."""
    specimen = drawn("pass_n", "silicon-gate-cmos", 1)
    kind, question = ask(specimen, "measurement", lambda q: q.key.right.startswith("a poor high"))
    assert graded(kind, question, "poor high") == (1, "Right: a poor high, a threshold below the rail.")
    assert graded(kind, question, "high") == (
        0.5, "The right side, but a threshold is lost on the way: a poor high, a threshold below the rail."
    )  # fmt: skip
    assert graded(kind, question, "floating")[0] == 0.25
    assert graded(kind, question, "low")[0] == 0
    assert "lose a threshold on a high level" in grade(kind, question, "low").decides


def test_a_fight_is_named_by_one_of_its_sides(drawn):
    """Both switches of a bare multiplexer open with unlike inputs: either level alone earns a quarter."""
    specimen = drawn("mux2_tg", "silicon-gate-cmos", 1)
    kind, question = ask(specimen, "measurement", lambda q: q.key.right.startswith("high"))
    assert graded(kind, question, "fighting")[0] == 0.25
    assert graded(kind, question, "poor high")[0] == 0.5
    assert graded(kind, question, "0")[0] == 0


def test_the_other_convention(drawn):
    """A NAND reads as a NOR where 1 is low (from memory: the two swap): the usual reading earns a quarter."""
    kind, question = ask(drawn("nand2", "silicon-gate-cmos", 1), "other convention")
    assert graded(kind, question, "!(a+b)")[0] == 1
    assert graded(kind, question, "!(a*b)")[0] == 0.25
    assert graded(kind, question, "a*b") == (
        0.5, "Only the output's sense is exchanged, not that of the inputs: with a=0 b=0 yours gives 0, and it is 1."
    )  # fmt: skip
    assert graded(kind, question, "a+b")[0] == 0.5
    assert graded(kind, question, "a")[0] == 0


def test_two_readers(drawn):
    """The right reader earns half, the right transistor with the wrong reader a quarter, another line nothing."""
    kind, question = ask(drawn("aoi21", "silicon-gate-cmos", 1), "reading check")
    key = question.key
    other = next(n for n in range(1, key.count + 1) if n not in key.lines)
    innocent = "B" if key.reader == "A" else "A"
    third = next(n for n in range(1, key.count + 1) if n != key.twin)
    assert graded(kind, question, f"{key.reader} {other}")[0] == 0.5
    assert graded(kind, question, f"{innocent} {key.twin}")[0] == 0.25
    assert graded(kind, question, f"{innocent} {third}")[0] == 0
    assert key.should in grade(kind, question, f"{innocent} {third}").decides


def test_a_process(drawn):
    """The process with a cue that both have earns half, the other with that cue a quarter, with its own nothing."""
    kind, question = ask(drawn("nand2", "silicon-gate-cmos", 1), "process")
    key = question.key
    for text, credit, word in (
        (key.right, 0.5, "say also by which cue"),
        (f"{key.right}: {key.shared}", 0.5, "but that is so in"),
        (f"{key.wrong}: {key.shared}", 0.25, "it is so in both"),
        (f"{key.wrong}: {key.false}", 0, "Not "),
    ):
        assert graded(kind, question, text)[0] == credit
        assert word in graded(kind, question, text)[1]


def test_what_is_undecided(drawn):
    """Needless removal earns half, a means that does not help a quarter, and to see what is not there nothing."""
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    kind, told = ask(specimen, "undecided", lambda q: q.key.right.startswith("this picture") and q.key.fact == "kind")
    assert graded(kind, told, "stain") == (
        0.5, "Needless: it would show it, but what is removed does not come back, and this picture tells it."
    )  # fmt: skip
    kind, hidden = ask(specimen, "undecided", lambda q: not q.key.right.startswith("this picture"))
    assert graded(kind, hidden, "picture")[0] == 0
    assert graded(kind, hidden, "below") == (
        0.25, f"Right, the picture does not tell; but this would not either: {hidden.key.right}."
    )  # fmt: skip


def test_size_does_not_tell_dirt_from_design(drawn):
    """
    In plain text crumbs of dust are smaller and larger than contacts, which differ among themselves; what tells is
    what a die shows, a slope on each side.
    """
    sizes, lines = {True: [], False: []}, {True: set(), False: set()}
    cells = ("nand2", "aoi21", "mux2_tg")
    for cell, seed in ((cell, seed) for cell in cells for seed in (1, 2)):
        question = kinds()["dust or contact"].ask(drawn(cell, "silicon-gate-cmos", seed), Dice(seed))
        for mark in question.marks:
            if found := re.match(r"([\d.]+) by [\d.]+ λ, (.*), its middle", mark.words):
                is_dirt = mark.letter in question.key.right
                sizes[is_dirt].append(float(found[1]))
                lines[is_dirt].add(found[2])
    assert len(set(sizes[False])) > 3
    assert min(sizes[True]) < min(sizes[False]) < max(sizes[False]) < max(sizes[True])
    assert lines[False] == {"a line along each side"}
    assert not lines[False] & lines[True]


def test_letters_of_dirt_and_of_a_seam(drawn):
    """One letter missed, one too many, and what is told of design taken for dirt or of going straight across."""
    kind, question = ask(drawn("nand2", "silicon-gate-cmos", 1), "dust or contact", lambda q: len(q.key.right) == 2)
    key = question.key
    design = [letter for letter in key.letters if letter not in key.right]
    for mark in question.marks:  # plain text measures both in the same words, and calls neither by a name
        assert re.fullmatch(
            r"([\d.]+ by [\d.]+ λ, (no line along a side|a line along (each side|\d of 4 sides))"
            r"|[\d.]+ λ wide and many λ long), its middle (on no metal|[\d.]+ λ inside .*)", mark.words
        )  # fmt: skip
    assert graded(kind, question, key.right[0])[0] == 0.5
    assert "missed" in graded(kind, question, key.right[0])[1]
    assert graded(kind, question, f"{' '.join(key.right)} {design[0]}")[0] == 0.5
    assert graded(kind, question, " ".join(design)) == (
        0, "Those are the parts of the design: the others are the dirt."
    )  # fmt: skip
    cells = ("aoi21", "xor2_compact", "half_adder", "latch_gates", "nor3")
    questions = (
        kinds()["across a seam"].ask(drawn(cell, "silicon-gate-cmos-2m", 1), Dice(seed))
        for seed in range(200)
        for cell in cells
    )
    found = next(q for q in questions if q is not None and q.key.straight and q.key.right)
    kind, key = kinds()["across a seam"], found.key
    credit, summary = graded(kind, found, " ".join(key.straight))
    assert credit == 0.25
    assert "straight across the seam" in summary
    assert graded(kind, found, "none")[0] == 0


def test_stages(drawn):
    """The place less a contact earns half, mirror images a quarter each, and each is named."""
    kind, question = ask(drawn("aoi21", "silicon-gate-cmos", 1), "two stages")
    earned = {what: graded(kind, question, "abcd"[i]) for i, what in enumerate(question.key.what)}
    assert earned["the same place"][0] == 1
    assert earned["one contact is missing"][0] == 0.5
    for way in ("left for right", "top for bottom"):
        assert earned[f"a mirror image, {way}"][0] == 0.25
        assert way in earned[f"a mirror image, {way}"][1]


@pytest.mark.parametrize("cell", ["aoi21", "inverter"])
def test_the_rings_of_stages_lie_where_the_pictures_differ(drawn, cell):
    """A wrong choice is ringed, and that place of the right one: one of the two has a hole there, the other none."""
    kind, question = ask(drawn(cell, "silicon-gate-cmos", 1), "two stages")
    holes = question.specimen.face.layout.shapes["contact"]
    for choice, what in enumerate(question.key.what):
        verdict = kind.grade(question, kind.accept(question, "abcd"[choice]))
        if choice == question.key.right:
            assert len(verdict.places) == 3
            continue
        here, there = verdict.places
        assert question.key.boxes[choice].contains(*here)
        assert question.key.boxes[question.key.right].contains(*there)
        assert any(r.contains(*here) for r in holes) is not any(r.contains(*there) for r in holes), what
        assert question.specimen.face.unit.at(*here) in verdict.decides


def test_stages_of_what_is_its_own_mirror_image(drawn):
    """Where a mirror image is the place itself, places that lack a contact stand in for it, each another one."""
    kind = kinds()["two stages"]
    layout = Layout(
        "bars",
        {
            "metal": (Rect(0, 0, 80, 8), Rect(0, 40, 80, 48)),
            "active": (Rect(32, 0, 48, 48),),
            "poly": (Rect(20, 22, 60, 26),),
            "contact": tuple(Rect(x, y, x + 4, y + 4) for x in (4, 38, 72) for y in (2, 42)),
            "nselect": (Rect(28, -4, 52, 52),),
        },
    )  # fmt: skip
    plain = drawn("nand2", "silicon-gate-cmos", 1)
    specimen = replace(plain, face=DrawnFace.of(layout, plain.process), netlist=plain.netlist)
    question = kind.ask(specimen, Dice(1))
    key = question.key
    assert sorted(key.what) == ["one contact is missing"] * 3 + ["the same place"]
    assert len({key.lacking, *key.also_lacking}) == 3
    assert {graded(kind, question, letter)[0] for letter in "abcd"} == {0.5, 1}
    assert "None of the four is a mirror image" in question.hints[1].text
    assert CHECKS["two stages"](kind, question, Oracle(question.specimen)) == []


def test_the_same_cell_or_a_look_alike(drawn):
    """Same or not without how it lies earns half; how it lies with the wrong sameness nothing."""
    kind, question = ask(drawn("aoi21", "silicon-gate-cmos", 1), "turned or not")
    same = question.key.same
    right, other = ("same", "look-alike") if same else ("look-alike", "same")
    lies, not_so = ("mirrored", "rotated") if question.key.mirrored else ("rotated", "mirrored")
    assert graded(kind, question, f"{right} {lies}")[0] == 1
    for said, credit in ((right, 0.5), (f"{right} {not_so}", 0.5), (f"{other} {lies}", 0), (other, 0)):
        assert graded(kind, question, said)[0] == credit, said


def test_a_net_across_a_seam(drawn):
    """One letter of two earns half, all and one too many half, going straight across a quarter."""
    cells = ("aoi21", "xor2_compact", "half_adder", "latch_gates", "nor3")
    questions = (
        kinds()["across a seam"].ask(drawn(cell, "silicon-gate-cmos-2m", 1), Dice(seed))
        for seed in range(60)
        for cell in cells
    )
    question = next(q for q in questions if q is not None and len(q.key.right) == 2)
    kind, key = kinds()["across a seam"], question.key
    wrong = next(letter for letter in key.letters if letter not in key.right)
    for said in (key.right[0], key.right[1], f"{' '.join(key.right)} {wrong}"):
        assert graded(kind, question, said)[0] == 0.5, said
    assert graded(kind, question, wrong)[0] in (0, 0.25)


def test_an_address(drawn):
    """Read from the other end half, one bit of three wrong a third, every bit wrong nothing."""
    kind, question = ask(drawn("decoder3_nor_own", "silicon-gate-nmos", 1), "address", lambda q: q.key.bits == "110")
    assert graded(kind, question, "011") == (0.5, "Read from the other end: a2 a1 a0 = 110.")
    assert graded(kind, question, "111") == (0.333, "Not quite: 2 of 3 bits right; a0 the other way round.")
    assert graded(kind, question, "100")[0] == 0.333
    assert graded(kind, question, "001") == (0, "Every bit is the other way round: a2 a1 a0 = 110.")


def test_a_netlist(drawn):
    """A line less of four three quarters, a wrong gate and a wrong kind less, and each names its line."""
    kind, question = ask(drawn("nand2", "silicon-gate-cmos", 1), "transcribe")
    lines = kind.solution(question).text.split("; ")
    first = lines[0].split()
    kept = "; ".join(lines[1:])
    other = next(line.split()[1] for line in lines if line.split()[1] != first[1])
    slips = {
        "missing": kept,
        "gate": f"{' '.join([first[0], other, *first[2:]])}; {kept}",
        "kind": f"{' '.join(['p' if first[0] == 'n' else 'n', *first[1:]])}; {kept}",
    }
    told = {what: graded(kind, question, said) for what, said in slips.items()}
    assert told["missing"][0] == 0.75
    assert "3 of 4 right" in told["missing"][1]
    for what in ("gate", "kind"):
        assert 0 < told[what][0] < 1
        assert f"“{slips[what].split(';')[0]}”" in told[what][1]


def test_a_sequence(drawn):
    """One step wrong costs two shares of its own, two steps four; the clock the other way round is named."""
    kind, question = ask(drawn("latch_gates", "silicon-gate-cmos", 1), "sequence")
    levels = question.key.levels
    known = [at for at, level in enumerate(levels) if level in "01"]
    turned = {"0": "1", "1": "0"}

    def slipped(places):
        return "".join(turned[level] if at in places else level for at, level in enumerate(levels))

    share = 2 / len(known)
    assert abs(graded(kind, question, slipped(known[:1]))[0] - (1 - share)) < 0.001
    assert abs(graded(kind, question, slipped(known[:2]))[0] - (1 - 2 * share)) < 0.001
    for mistake, given in question.key.mistakes.items():
        credit, summary = graded(kind, question, given)
        assert credit < 1
        assert mistake.split()[-1] in summary


def test_a_contest_that_sizes_decide_is_not_asked(drawn):
    """Charged and let go at once, a precharged gate is at the mercy of widths, and a reader would call it a fight."""
    specimen = drawn("precharged_nor2", "silicon-gate-nmos-enhancement", 7000)
    asked = [kinds()["measurement"].ask(specimen, Dice(seed)).key for seed in range(40)]
    both = [k for k in asked if k.net == "y" and k.row["pc"] and k.row["ev"] and (k.row["a"] or k.row["b"])]
    assert asked
    assert all(k.right.startswith("two drivers fighting") for k in both)
