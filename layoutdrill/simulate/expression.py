"""
Read, print and compare Boolean expressions: `y = !(a*b + c)`.

Operators, tightest first: not (`!a`, `~a`, `a'`, also `¬a` and the word NOT), and (`*`, `&`, `·`, `.`, the word AND,
or nothing: `a b`, `a(b + c)`), exclusive or (`^`, `⊕`, XOR), or (`+`, `|`, OR). `0` and `1` are constants. Words are
read as operators in any case, unless they are among `names`. A name is a letter or `_`, then letters, digits, `_`
and an optional index `[3]`. A run of letters such as `ab` is one name; where `names` are given and `ab` is not among
them but splits into names that are, it is their product. Names differ by case, unless `names` knows only one spelling.
"""

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import NoReturn

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.simulate.effort import spend
from layoutdrill.value import value

LONGEST = 20_000
"""Characters of one expression."""
DEEPEST = 60
"""Levels of parentheses, and complements of complements, in an expression."""
MOST_NAMES = 20
"""Expressions over more variables are not compared: 2 to the 20th rows take about a second."""


@value
class Const:
    """Always 0 or always 1."""

    value: bool


@value
class Var:
    """A signal."""

    name: str


@value
class Not:
    """The complement of a term."""

    term: "Expression"


@value
class And:
    """1 where all of two or more terms are 1."""

    terms: tuple["Expression", ...]


@value
class Or:
    """1 where any of two or more terms is 1."""

    terms: tuple["Expression", ...]


@value
class Xor:
    """1 where an odd number of two or more terms are 1."""

    terms: tuple["Expression", ...]


Expression = Const | Var | Not | And | Or | Xor


@value
class Equation:
    """`name = expression`; the name is "" where none was written."""

    name: str
    expression: Expression


class ExpressionError(LayoutdrillError):
    """An expression that cannot be read; `column` counts from 1 in the text that was given."""

    def __init__(self, what: str, *, column: int, where: Where | None = None, todo: str = "") -> None:
        if where is not None and where.column is not None:
            place = Where(where.file, where.line, where.column + column - 1)
        elif where is not None:
            place = Where(where.file, where.line, column)
        else:
            place = Where("expression", None, column)
        super().__init__(what, where=place, todo=todo)
        self.column = column


_TOKEN = re.compile(r"[A-Za-z_][A-Za-z0-9_]*(?:\[[0-9]+\])?|&&|\|\||[!~¬'’*&·.∧^⊕+|∨()01]")
_NOT, _AND, _XOR, _OR = "!~¬", ("*", "&", "&&", "·", ".", "∧"), ("^", "⊕"), ("+", "|", "||", "∨")
_WORDS = {"not": "!", "and": "*", "xor": "^", "or": "+"}


def parse(text: str, names: Iterable[str] = (), where: Where | None = None) -> Expression:
    """
    Read an expression. With `names`, any other name is an error.

    `where` is the place of the text in its file; raises ExpressionError, with the column.
    """
    return _Parser(text, 0, tuple(names), where).whole()


def parse_equation(text: str, names: Iterable[str] = (), where: Where | None = None) -> Equation:
    """Read `y = a*b`, or an expression alone; `names` are those that the right side may use."""
    head, equals, _ = text.partition("=")
    if not equals:
        return Equation("", parse(text, names, where))
    name = head.strip()
    if not re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*(?:\[[0-9]+\])?", name):
        raise ExpressionError(
            f'"{name}" is not a name for an output', column=1, where=where, todo="write one name before the ="
        )
    return Equation(name, _Parser(text, len(head) + 1, tuple(names), where).whole())


class _Parser:
    def __init__(self, text: str, at: int, names: tuple[str, ...], where: Where | None) -> None:
        self.text = text
        self.names = names
        self.where = where
        self.folded: dict[str, str | None] = {}
        for name in names:  # two names that differ only by case cannot be told apart by a careless writer
            self.folded[name.lower()] = None if name.lower() in self.folded else name
        self.tokens: list[tuple[str, int]] = []
        self.depth = 0
        if len(text) - at > LONGEST:
            self.fail(f"an expression of over {LONGEST:,} characters", at, "write it in several equations")
        while True:
            while at < len(text) and text[at].isspace():
                at += 1
            if at >= len(text):
                break
            match = _TOKEN.match(text, at)
            if match is None:
                self.fail(f'"{text[at]}" means nothing here', at, "use names, ! * + ^, 0, 1 and parentheses")
            self.tokens.append((match.group(), at))
            at = match.end()
        self.i = 0

    def fail(self, what: str, at: int, todo: str = "") -> NoReturn:
        raise ExpressionError(what, column=at + 1, where=self.where, todo=todo)

    def peek(self) -> str:
        if self.i >= len(self.tokens):
            return ""
        token = self.tokens[self.i][0]
        return token if token in self.names else _WORDS.get(token.lower(), token)

    def whole(self) -> Expression:
        if not self.tokens:
            self.fail("there is no expression", len(self.text), "write one, such as !(a*b + c)")
        result = self.either()
        if self.i < len(self.tokens):
            token, at = self.tokens[self.i]
            self.fail(f'"{token}" is not expected here', at, "check the operators and parentheses")
        return result

    def either(self) -> Expression:
        terms = [self.odd()]
        while self.peek() in _OR:
            self.i += 1
            terms.append(self.odd())
        return terms[0] if len(terms) == 1 else Or(tuple(terms))

    def odd(self) -> Expression:
        terms = [self.both()]
        while self.peek() in _XOR:
            self.i += 1
            terms.append(self.both())
        return terms[0] if len(terms) == 1 else Xor(tuple(terms))

    def both(self) -> Expression:
        terms = [self.unary()]
        while (token := self.peek()) and (token in _AND or token in _NOT or token in "(01" or token[0].isidentifier()):
            if token in _AND:
                self.i += 1
            terms.append(self.unary())
        return terms[0] if len(terms) == 1 else And(tuple(terms))

    def unary(self) -> Expression:
        before = self.i
        while (token := self.peek()) and token in _NOT:
            self.i += 1
        complements = self.i - before
        result = self.atom()
        while self.peek() in ("'", "’"):
            self.i += 1
            complements += 1
        if complements > DEEPEST:
            self.fail(f"more than {DEEPEST} complements of one term", self.tokens[before][1], "two undo each other")
        for _ in range(complements):
            result = Not(result)
        return result

    def atom(self) -> Expression:
        if self.i >= len(self.tokens):
            self.fail("the expression ends too early", len(self.text), "a name or ( should follow")
        token, at = self.tokens[self.i]
        operator = self.peek()
        self.i += 1
        if token == "(":
            self.depth += 1
            if self.depth > DEEPEST:
                self.fail(f"more than {DEEPEST} parentheses within each other", at, "write it in several equations")
            inner = self.either()
            self.depth -= 1
            if self.peek() != ")":
                self.fail("this parenthesis is not closed", at, "add a )")
            self.i += 1
            return inner
        if token in ("0", "1"):
            return Const(token == "1")
        if operator == token and (token[0].isalpha() or token[0] == "_"):
            return self.named(token, at)
        self.fail(f'"{token}" stands where a name should', at, "write a name, 0, 1, ! or ( there")

    def named(self, token: str, at: int) -> Expression:
        if not self.names or token in self.names:
            return Var(token)
        if (known := self.folded.get(token.lower())) is not None:
            return Var(known)
        if parts := self.split(token):
            return And(tuple(Var(part) for part in parts))
        self.fail(f'no signal "{token}"', at, did_you_mean(token, self.names))

    def split(self, token: str) -> list[str]:
        """Cut `ab1` into known names, the longest first; [] where it does not come out even."""
        longest = max(map(len, self.names), default=0)
        cut: dict[int, tuple[str, int]] = {}  # the name to take at each place from which the rest comes out even
        for start in range(len(token) - 1, -1, -1):
            for end in range(min(len(token), start + longest), start, -1):
                head = token[start:end]
                name = head if head in self.names else self.folded.get(head.lower())
                if name is not None and (end == len(token) or end in cut):
                    cut[start] = name, end
                    break
        names: list[str] = []
        at = 0
        while at in cut:
            name, at = cut[at]
            names.append(name)
        return names


def text(expression: Expression) -> str:
    """Print an expression with as few parentheses as its meaning allows; `parse` reads it back."""
    return _text(expression, 0)


def _text(e: Expression, outer: int) -> str:
    if isinstance(e, Const):
        return "1" if e.value else "0"
    if isinstance(e, Var):
        return e.name
    if isinstance(e, Not):
        return "!" + _text(e.term, 4)
    rank, joint = (3, "*") if isinstance(e, And) else (2, " ^ ") if isinstance(e, Xor) else (1, " + ")
    inside = joint.join(_text(term, rank + 1) for term in e.terms)
    return f"({inside})" if outer > rank else inside


def variables(expression: Expression) -> tuple[str, ...]:
    """Return the names used, in the order of first use."""
    names: dict[str, None] = {}
    stack = [expression]
    while stack:
        e = stack.pop()
        if isinstance(e, Var):
            names.setdefault(e.name)
        elif isinstance(e, Not):
            stack.append(e.term)
        elif not isinstance(e, Const):
            stack.extend(reversed(e.terms))
    return tuple(names)


def evaluate(expression: Expression, values: Mapping[str, bool]) -> bool:
    """Return the value for the given signals."""
    if isinstance(expression, Const):
        return expression.value
    if isinstance(expression, Var):
        return bool(values[expression.name])
    if isinstance(expression, Not):
        return not evaluate(expression.term, values)
    if isinstance(expression, And):
        return all(evaluate(term, values) for term in expression.terms)
    if isinstance(expression, Or):
        return any(evaluate(term, values) for term in expression.terms)
    return sum(evaluate(term, values) for term in expression.terms) % 2 == 1


@lru_cache(maxsize=256)
def column_of(place: int, count: int) -> int:
    """
    Return the truth-table column, as a bit mask, of the variable at `place` of `count`.

    Bit r of the mask is the variable's value in row r; the first variable is the most significant bit of r.
    """
    period = 1 << (count - 1 - place)
    block = ((1 << period) - 1) << period
    width = 2 * period
    while width < 1 << count:
        block |= block << width
        width *= 2
    return block


def truth(expression: Expression, order: Iterable[str]) -> int:
    """
    Return the truth table over `order` as a bit mask: bit r is the value in row r, first name most significant.

    Raises LayoutdrillError for more than MOST_NAMES variables.
    """
    names = tuple(order)
    if len(names) > MOST_NAMES:
        raise LayoutdrillError(f"{len(names)} variables are too many for a truth table", todo=f"at most {MOST_NAMES}")
    columns = {name: column_of(place, len(names)) for place, name in enumerate(names)}
    return evaluated(expression, columns, (1 << (1 << len(names))) - 1)


def evaluated(e: Expression, columns: Mapping[str, int], full: int) -> int:
    """Return the truth table of an expression whose variables have the tables `columns`; `full` has every bit set."""
    if isinstance(e, Const):
        return full if e.value else 0
    if isinstance(e, Var):
        return columns[e.name]
    if isinstance(e, Not):
        return full ^ evaluated(e.term, columns, full)
    spend(len(e.terms) * (1 + (full.bit_length() >> 12)))
    parts = [evaluated(term, columns, full) for term in e.terms]
    result = parts[0]
    for part in parts[1:]:
        result = result & part if isinstance(e, And) else result | part if isinstance(e, Or) else result ^ part
    return result


def difference(first: Expression, second: Expression) -> dict[str, bool] | None:
    """Return an assignment for which the two differ, or None where they mean the same."""
    names = tuple(sorted({*variables(first), *variables(second)}))
    odd = truth(first, names) ^ truth(second, names)
    if not odd:
        return None
    row = (odd & -odd).bit_length() - 1
    return {name: bool(row >> (len(names) - 1 - place) & 1) for place, name in enumerate(names)}


def equivalent(first: Expression, second: Expression) -> bool:
    """Tell whether two expressions have the same value for every assignment."""
    return difference(first, second) is None
