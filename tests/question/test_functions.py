"""Functions are graded by what they mean: three hundred spellings against sympy; known mistakes are named."""

import pytest
import sympy

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import kinds
from tests.question.fairness import grade

NOTATIONS = (
    # not before, not behind, and, or, exclusive or
    ("!", "", "*", "+", "^"),
    ("~", "", " & ", " | ", " ^ "),
    ("", "'", "", " + ", " ⊕ "),
    ("/", "", "·", "+", "^"),
    ("NOT ", "", " AND ", " OR ", " XOR "),
    ("¬", "", ".", "|", "^"),
)


def grown(dice, names, depth):
    """Return a random expression as a tree of (operator, parts) or a name."""
    if depth == 0 or dice.chance(25):
        return dice.pick(names)
    operator = dice.pick(("not", "and", "or", "xor"))
    count = 1 if operator == "not" else dice.between(2, 3)
    return (operator, *(grown(dice, names, depth - 1) for _ in range(count)))


def written(tree, notation):
    before, behind, both, either, odd = notation
    if isinstance(tree, str):
        return tree
    operator, *parts = tree
    if operator == "not":
        inner = f"({written(parts[0], notation)})"
        return f"{before}{inner}{behind}"
    joint = {"and": both, "or": either, "xor": odd}[operator]
    return joint.join(f"({written(part, notation)})" for part in parts)


def as_sympy(tree):
    if isinstance(tree, str):
        return sympy.Symbol(tree)
    make = {"not": sympy.Not, "and": sympy.And, "or": sympy.Or, "xor": sympy.Xor}[tree[0]]
    return make(*(as_sympy(part) for part in tree[1:]))


def column(expression, names):
    symbols = [sympy.Symbol(name) for name in names]
    rows = range(1 << len(names))
    bits = [[bool(r >> (len(names) - 1 - at) & 1) for at in range(len(names))] for r in rows]
    return "".join(str(int(bool(expression.subs(dict(zip(symbols, row, strict=True)))))) for row in bits)


# Source: sympy's boolean algebra, on trees that its own classes are built of.
def test_three_hundred_spellings_mean_what_they_mean(drawn):
    """Right and wrong expressions in six notations: full credit exactly where sympy finds the same table."""
    kind = kinds()["function"]
    question = kind.ask(drawn("aoi21", "silicon-gate-cmos", 1), Dice(1))
    key, right = question.key, sympy.sympify("~((a & b) | c)")
    assert column(right, key.inputs) == key.levels
    full = 0
    for number in range(300):
        dice = Dice.from_text(f"spelling {number}")
        tree = ("not", ("or", ("and", "a", "b"), "c")) if number % 3 == 0 else grown(dice, key.inputs, 3)
        if number % 6 == 3:  # the same by De Morgan, with a part that changes nothing
            part = grown(dice, key.inputs, 1)
            tree = ("and", ("or", ("not", "a"), ("not", "b")), ("not", "c"), ("or", part, ("not", part)))
        text = written(tree, NOTATIONS[number % len(NOTATIONS)])
        same = column(as_sympy(tree), key.inputs) == key.levels
        verdict = grade(kind, question, text)
        assert (verdict.credit == 1) == same, (text, verdict.summary)
        full += same
    assert 100 <= full < 200


@pytest.mark.parametrize(
    ("said", "credit", "words"),
    [
        ("a*b + c", 0.5, "complement"),
        ("!((a + b)*c)", 0.25, "dual"),
        ("!(a*c + b)", 0.5, "exchanged"),
        ("!(a*b + !c)", 0.25, "were c its complement"),
        ("!(a*b)", 0, "with a=0 b=0 c=1 yours gives 1, and it is 0"),
        ("1", 0, "always the same"),
    ],
)
def test_known_mistakes_are_named(drawn, said, credit, words):
    """AOI21, !(a*b + c): each mistake earns what it should, with a row that shows it."""
    kind = kinds()["function"]
    verdict = grade(kind, kind.ask(drawn("aoi21", "silicon-gate-cmos", 1), Dice(1)), said)
    assert verdict.credit == credit
    assert words in verdict.summary
    assert "yours gives" in verdict.summary


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("!(a*b + d)", 'no signal "d"'),
        ("!(a*b + c", "column"),
        ("q = a", "q is not asked"),
        ("__import__('os')", "no signal"),
        ("(" * 80 + "a" + ")" * 80, "parenthes"),
        ("a+" * 500 + "a", "at most 1000"),
    ],
)
def test_what_cannot_be_read_is_told(drawn, said, words):
    """Unknown names, open parentheses, another output, code, depth and length: refused in words, never run."""
    kind = kinds()["function"]
    question = kind.ask(drawn("aoi21", "silicon-gate-cmos", 1), Dice(1))
    with pytest.raises(LayoutdrillError) as caught:
        kind.accept(question, said)
    told = str(caught.value) + f" column {getattr(caught.value, 'column', '')}"
    assert words in told


# Source: function tables of NAND and NOR, from memory (1110 and 1000 for inputs 00, 01, 10, 11).
def test_nor_of_pmos_is_read_by_voltage(drawn):
    """In PMOS the levels are by voltage: what the library calls NOR2 has the table 1000, and the dual is named."""
    kind = kinds()["function"]
    question = kind.ask(drawn("nor2", "metal-gate-pmos", 1), Dice(1))
    assert question.key.levels == "1000"
    assert any("Levels are by voltage" in fact for fact in question.facts)
    other = grade(kind, question, "!(a*b)")
    assert (other.credit, "other logic convention" in other.summary) == (0.25, True)


PUBLISHED = {
    "nand2": "!(A & B)",
    "nor2": "!(A | B)",
    "nor3": "!(A | B | C)",
    "aoi21": "!((A & B) | C)",
    "oai21": "!((A | B) & C)",
}
"""As an open cell kit's pages print them (a21oi, o21ai: “!((A1 & A2) | B1)”, from memory), inputs renamed in order."""


@pytest.mark.parametrize("cell", list(PUBLISHED))
def test_published_functions_are_right_of_their_own_cell_alone(drawn, cell):
    """What a kit's pages print for a gate earns all for it, and for every other gate of as many inputs less."""
    kind = kinds()["function"]
    question = kind.ask(drawn(cell, "silicon-gate-cmos", 1), Dice(1))
    for other, text in PUBLISHED.items():
        said = text.lower()
        if len({letter for letter in said if letter in "abc"}) == len(question.key.inputs):
            assert (grade(kind, question, said).credit == 1) == (other == cell), (other, said)
