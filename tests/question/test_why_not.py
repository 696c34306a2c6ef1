"""Every wrong answer is told why not: what one would see were it so, in the words of its kind."""

import re
from dataclasses import replace
from itertools import product

from layoutdrill.cells import load_cell
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process
from layoutdrill.question import Answer, HintStep, kinds
from layoutdrill.question.sight import Sight
from layoutdrill.question.sight_words import would_show
from tests.each import each
from tests.question.conftest import CELL_KINDS, WIDELY
from tests.sampling import covering, some

PROCESSES = ("metal-gate-cmos", "silicon-gate-cmos-2m", "silicon-gate-nmos")
LETTERS = "abcd"
SAID = re.compile(r"^(Were|A cue|The name|Rows left|[a-d] would|[A-Z])")


OWN_SENTENCES = ("spot", "name", "fault", "measurement", "undecided", "process", "two stages", "turned or not")
"""Kinds with choices where no two wrong ones are told the same."""
TRIED = (*"PQRSTU", "P Q", "T U", *(f"{name} {at}" for name in "ABC" for at in (1, 2, 3)), "a", "!a", "a*b", "a + b")
"""What a learner may type where there are no choices; what is right is passed over."""


def accepted(kind, question, text):
    """The answer that a text is taken for, or None."""
    try:
        return kind.accept(question, text)
    except LayoutdrillError:
        return None


def wrong_answers(kind, question):
    """Return wrong answers: every wrong letter where there are choices, else what a learner might type or point at."""
    key = question.key
    match question.kind:
        case "rails":
            letters = [m for m in key.letters if m not in (key.high, key.low)]
            swapped = [f"{key.low} {key.high} {key.right}"]
            other = [f"{letters[0]} {key.low} {key.right}"] if letters else []
            cues = [f"{key.high} {key.low} {cue}" for cue in LETTERS if cue != key.right]
            return [kind.accept(question, text) for text in (*swapped, *other, *cues)]
        case "same net":
            sets = [{letter} for letter in key.letters] + [set(), set(key.letters)]
            return [kind.accept(question, " ".join(sorted(s)) or "none") for s in sets if s != set(key.right)]
        case "count":
            numbers = (key.all - 1, key.all + 1, key.all + 3) if key.what == "transistors" else ()
            if numbers and not key.single:
                return [kind.accept(question, f"{key.n} {n - key.n} {n}") for n in numbers if n >= key.n] + [
                    kind.accept(question, f"{key.n + 1} {key.p - 1} {key.all}")]  # fmt: skip
            right = key.all if numbers else key.right
            return [kind.accept(question, str(n)) for n in (right - 1, right + 1, right + 4) if n >= 0]
        case "point":
            box = question.specimen.face.box
            return [Answer("", (x, y)) for x in range(box.x0, box.x1, box.width // 7 + 1)
                    for y in range(box.y0, box.y1, box.height // 7 + 1)]  # fmt: skip
        case "table" | "sequence":
            turned = key.levels.translate(str.maketrans("01", "10"))
            return [Answer(turned), Answer(turned[0] + key.levels[1:]), Answer("z" * len(key.levels)),
                    Answer(key.levels[:-1] + "?")]  # fmt: skip
        case "function":
            right = kind.solution(question).text
            return [Answer(f"!({right})"), Answer(key.inputs[0]), Answer(f"!{key.inputs[0]}")]
        case "address":
            flipped = [key.bits[:i] + "10"[int(b)] + key.bits[i + 1 :] for i, b in enumerate(key.bits)]
            return [Answer(bits) for bits in (*flipped, key.bits[::-1]) if bits != key.bits]
        case "ratio":
            return [Answer(f"{key.right * 3:.3g}"), Answer(f"{1 / (key.right * 3):.3g}"), Answer("7/3")]
        case "transcribe":
            lines = kind.solution(question).text.split("; ")
            return [
                Answer("; ".join(lines[:-1])),
                Answer("; ".join([*lines, lines[0].replace(lines[0].split()[-1], "q7")])),
            ]
    if not question.choices:
        return [answer for text in TRIED if (answer := accepted(kind, question, text)) is not None]
    right = kind.solution(question).text
    return [Answer(letter) for letter, choice in zip(LETTERS, question.choices, strict=False)
            if right not in (letter, choice)]  # fmt: skip


@each(("name", "process"), covering(product(CELL_KINDS, PROCESSES)))
def test_every_wrong_answer_is_told_what_one_would_see(drawn, name, process):
    """Over kinds, processes and wrong choices: a sentence of its own, never that of another wrong choice."""
    kind, tried = kinds()[name], 0
    cells = [cell for cell in (*WIDELY, "nor3") if load_cell(cell).fits(load_process(process))]
    for cell in cells:
        for seed in some(range(3), 1 if tried else 2):
            question = kind.ask(drawn(cell, process, 1), Dice.from_text(f"{name} {seed}"))
            if question is None:
                continue
            seen = {}
            for answer in wrong_answers(kind, question):
                verdict = kind.judge(question, answer)
                if verdict.correct:
                    continue
                tried += 1
                assert SAID.match(verdict.instead), (cell, answer, verdict.instead)
                assert verdict.instead.endswith("."), verdict.instead
                assert len(verdict.instead) < 420
                if question.choices and name in OWN_SENTENCES:
                    assert verdict.instead not in seen.values(), (cell, answer)
                seen[answer] = verdict.instead
    assert tried


@each("name", CELL_KINDS)
def test_a_right_answer_and_none_are_told_no_such_thing(drawn, name):
    """Only a wrong answer is told what it would look like."""
    kind = kinds()[name]
    asked = (kind.ask(drawn(cell, "silicon-gate-cmos", 1), Dice(3)) for cell in WIDELY)
    question = next(found for found in asked if found is not None)
    assert kind.judge(question, kind.solution(question)).instead == ""
    assert kind.judge(question, Answer()).instead == ""


def test_across_a_seam_a_net_beyond_a_gate_is_told_to_be_parted_by_it(drawn):
    """Poly over diffusion shields the channel (Mead & Conway 1980), so what lies on both its sides are two nets."""
    kind, told = kinds()["across a seam"], set()
    for cell, seed in (("nand2", 1), ("nor2", 1)):
        for dice in range(8):
            question = kind.ask(drawn(cell, "silicon-gate-cmos", seed), Dice(dice))
            key, extraction = question.key, question.specimen.face.extraction
            net = {
                a: {n for layer, n in extraction.nets_at(*at) if "well" not in layer} for a, at in key.places.items()
            }
            for letter in set(key.letters) - set(key.right) - set(key.straight):
                words = kind.judge(question, Answer(" ".join((*key.right, letter)))).instead
                pair = net["P"] | net[letter]
                ends = [({t.source, t.drain}, t.gate) for t in extraction.netlist.transistors]
                parted, under = any(e == pair for e, _ in ends), any(g in pair and pair - {g} <= e for e, g in ends)
                assert ("parts it: two nets" in words) == (parted and "one is a gate" not in words), words
                assert ("one is a gate" in words) <= under
                assert ("they miss it" in words) == (not parted and not under)
                told.add(words.partition("Put back, ")[2])
    assert len(told) > 1


def test_a_transistor_is_told_apart_from_a_crossing(drawn):
    """Metal over diffusion: poly would lie across it, and lies not there (Mead & Conway 1980: poly over diffusion)."""
    kind = kinds()["spot"]
    for seed in range(40):
        question = kind.ask(drawn("nand2", "silicon-gate-cmos", 1), Dice(seed))
        if question.key.right == "crossing" and "transistor" in question.choices:
            break
    verdict = kind.judge(question, Answer(LETTERS[question.choices.index("transistor")]))
    assert verdict.instead.startswith("Were it a transistor, poly would lie across diffusion")
    assert "no square that joins them" in verdict.instead


def test_a_step_of_help_rules_one_wrong_choice_out(drawn):
    """Of a spot: between the rails and what gives it away; what it says of the other is true, and it names no other."""
    kind = kinds()["spot"]
    for seed in range(12):
        question = kind.ask(drawn("nand2", "metal-gate-sapphire", 1), Dice(seed))
        told = [hint.text for hint in question.hints if hint.step is HintStep.WORDS]
        (ruled_out,) = [choice for choice in question.choices if any(f" {choice}:" in text for text in told)]
        assert ruled_out not in question.key.truths
        assert [hint.cost for hint in question.hints] == sorted(hint.cost for hint in question.hints)


def test_every_sight_has_words_of_its_own():
    """For each sight and both kinds of gate."""
    for metal_gate in (False, True):
        told = [would_show(sight, metal_gate=metal_gate) for sight in Sight]
        assert len(set(told)) == len(Sight)


def test_of_dimples_and_rims_only_a_photograph_speaks(drawn):
    """Flat mask colours show a square: a dimple and a rim are told in looks that show them (DEVELOPERS: evidence)."""
    kind, told = kinds()["spot"], 0
    for seed in range(30):
        question = kind.ask(drawn("nand2", "metal-gate-cmos", 1), Dice(seed))
        flat = kind.judge(question, Answer("nothing"), "stick-colours")
        lit = kind.judge(question, Answer("nothing"), "reflected-light")
        assert not re.search(r"dimple|rim\b|photograph", flat.decides)
        told += "dimple" in lit.decides
        assert replace(lit, decides="") == replace(flat, decides="")
    assert told


def test_no_kind_speaks_of_dimples_in_flat_mask_colours(drawn):
    """Over kinds: neither the question nor what a wrong answer is told, but for kinds that choose a photograph."""
    told = 0
    for name in CELL_KINDS:
        kind = kinds()[name]
        question = kind.ask(drawn("nand2", "silicon-gate-cmos", 1), Dice.from_text(f"flat {name}"))
        if question is None or kind.own_look:
            continue
        for answer in wrong_answers(kind, question):
            verdict = kind.judge(question, answer, "stick-colours")
            words = " ".join((question.prompt, *question.facts, *question.choices, *(h.text for h in question.hints),
                              verdict.summary, verdict.decides, verdict.instead))  # fmt: skip
            assert not re.search(r"\b(dimples?|rims?|rimmed)\b", words), (name, words)
            told += 1
    assert told


@each("name", [name for name, kind in kinds().items() if kind.partly])
def test_a_part_of_the_credit_is_told_why(name):
    """Each part that a kind gives is a half or a quarter, and has its reason."""
    parts = dict(kinds()[name].partly)
    assert set(parts) <= {0.5, 0.25}
    assert all(why.strip() and not why.endswith(".") for why in parts.values())


def test_two_stages_say_why_one_wrong_choice_earns_half_and_another_a_quarter(drawn):
    """The one that lacks a contact lies as the left one does; a mirror image does not."""
    kind = kinds()["two stages"]
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    question = next(q for seed in range(20) if (q := kind.ask(specimen, Dice(seed))) is not None)
    told = {}
    for letter in LETTERS:
        verdict = kind.judge(question, kind.accept(question, letter))
        told[verdict.credit] = verdict.summary
    assert "Half of the credit: " in told[0.5]
    assert "credit" not in told[1.0]
    assert 0.25 not in told or "A quarter of the credit: " in told[0.25]


def parts_of(kind, question, answers):
    """Return each part of the credit that some answers earn, with what is told."""
    verdicts = [kind.judge(question, answer) for answer in answers]
    return {verdict.credit: verdict.summary for verdict in verdicts if 0 < verdict.credit < 1}


def asked_for(name, specimen, fits, tries=60):
    """Return the first question of a kind about a specimen that fits."""
    asked = (kinds()[name].ask(specimen, Dice(seed)) for seed in range(tries))
    return next(question for question in asked if question is not None and fits(question))


def test_parts_of_what_is_counted_say_why(drawn):
    """One off among six or more; every finger; one or two of three numbers."""
    kind, specimen = kinds()["count"], drawn("nand2", "silicon-gate-cmos", 1)
    contacts = asked_for("count", specimen, lambda q: q.key.what == "contacts" and q.key.right >= 6)
    (told,) = parts_of(kind, contacts, [Answer(str(contacts.key.right + 1))]).values()
    assert told.endswith("Half of the credit: it is one off, among six or more.")
    threes = asked_for("count", specimen, lambda q: q.key.what == "transistors")
    told = parts_of(kind, threes, [Answer("2 3 5"), Answer("2 3 4")])
    assert told[0.333].endswith("A third of the credit: one of the three numbers is right.")
    assert told[0.667].endswith("Two thirds of the credit: two of the three numbers are right.")
    every = replace(threes, key=replace(threes.key, every=(4, 4, 8)))
    told = parts_of(kind, every, [Answer("4 4 8")])
    assert "Half of the credit: every finger is seen" in told[0.5]


def test_parts_of_a_function_say_why(drawn):
    """NAND: its complement is the AND; its dual, and its reading by the other convention, the NOR (De Morgan)."""
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    question = asked_for("function", specimen, lambda q: True)
    a, b = question.key.inputs
    told = parts_of(kinds()["function"], question, [Answer(f"{a} * {b}"), Answer(f"!({a} + {b})")])
    assert told[0.5].endswith("Half of the credit: one exchange makes it right.")
    assert told[0.25].endswith("A quarter of the credit: with 1 and 0 exchanged at some of its pins it is right.")
    other = asked_for("other convention", specimen, lambda q: True)
    told = parts_of(kinds()["other convention"], other, [Answer(f"!({a} * {b})"), Answer(f"{a} + {b}")])
    assert told[0.25].endswith("A quarter of the credit: it is right by the usual convention.")
    assert told[0.5].endswith("Half of the credit: one exchange makes it right.")


def test_parts_of_an_address_and_of_letters_across_a_seam_say_why(drawn):
    """Bits from the wrong end earn half; what lies straight across, as if there were no jump, a quarter."""
    address = asked_for("address", drawn("decoder2_nor", "silicon-gate-cmos", 1), lambda q: q.key.bits == "01")
    kind = kinds()["address"]
    (told,) = parts_of(kind, address, [Answer("10")]).values()
    assert told.endswith("Half of the credit: every bit is read right, from the wrong end.")
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    seam = asked_for("across a seam", specimen, lambda q: q.key.straight and not set(q.key.straight) & set(q.key.right))
    told = parts_of(kinds()["across a seam"], seam, [Answer(" ".join(seam.key.straight))])
    assert told[0.25].endswith("A quarter of the credit: what lies straight across the seam is seen, the jump is not "
                               "reckoned with.")  # fmt: skip
    if len(seam.key.right) > 1:
        told = parts_of(kinds()["across a seam"], seam, [Answer(seam.key.right[0])])
        assert "of the letters on the net" in told.get(0.5, "of the letters on the net")
