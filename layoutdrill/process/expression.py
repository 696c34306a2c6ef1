"""
Boolean expressions over layers: `active & poly - nwell`, with `&` and, `|` or, `-` without, and parentheses.

`&` binds tighter than `-`, which binds tighter than `|`; operators of one rank read from the left.
"""

import re
from collections.abc import Iterator
from typing import Literal

from layoutdrill.errors import did_you_mean
from layoutdrill.value import value
from layoutdrill.yamldoc import Node

Operator = Literal["&", "|", "-"]
_TOKEN = re.compile(r"\s*([A-Za-z][A-Za-z0-9_]*|[&|()-])")
MOST_TOKENS = 100

_RANK: dict[str, int] = {"|": 1, "-": 2, "&": 3}


@value
class Name:
    """A mask layer or an earlier region."""

    name: str


@value
class Operation:
    """`left` and/or/without `right`, as areas."""

    operator: Operator
    left: "Expression"
    right: "Expression"


Expression = Name | Operation


def names_in(expression: Expression) -> Iterator[str]:
    if isinstance(expression, Name):
        yield expression.name
    else:
        yield from names_in(expression.left)
        yield from names_in(expression.right)


def text_of(expression: Expression, rank: int = 0) -> str:
    """Write an expression as it would be written in a process file."""
    if isinstance(expression, Name):
        return expression.name
    own = _RANK[expression.operator]
    text = f"{text_of(expression.left, own)} {expression.operator} {text_of(expression.right, own + 1)}"
    return f"({text})" if own < rank else text


def parse_expression(node: Node, known: tuple[str, ...]) -> Expression:
    """Read an expression over `known` layer and region names; errors carry the node's place."""
    text = node.text()
    tokens: list[str] = []
    at = 0
    while text[at:].strip():
        match = _TOKEN.match(text, at)
        if match is None:
            node.fail(f'cannot read "{text[at:].strip()}" in this expression', "use names, &, |, - and parentheses")
        tokens.append(match.group(1))
        at = match.end()
    if len(tokens) > MOST_TOKENS:
        node.fail(f"more than {MOST_TOKENS} names and signs in one expression", "name parts of it as regions")
    parser = _Parser(node, tokens, known)
    expression = parser.expression(1)
    if parser.tokens:
        node.fail(f'"{parser.tokens[0]}" is not expected here', "check operators and parentheses")
    return expression


class _Parser:
    def __init__(self, node: Node, tokens: list[str], known: tuple[str, ...]) -> None:
        self.node = node
        self.tokens = tokens
        self.known = known

    def expression(self, rank: int) -> Expression:
        if rank > 3:
            return self.atom()
        left = self.expression(rank + 1)
        while self.tokens and _RANK.get(self.tokens[0]) == rank:
            operator = self.tokens.pop(0)
            right = self.expression(rank + 1)
            assert operator in ("&", "|", "-")
            left = Operation(operator, left, right)  # type: ignore[arg-type]
        return left

    def atom(self) -> Expression:
        if not self.tokens:
            self.node.fail("the expression ends too early", "check operators and parentheses")
        token = self.tokens.pop(0)
        if token == "(":
            inner = self.expression(1)
            if not self.tokens or self.tokens.pop(0) != ")":
                self.node.fail("a parenthesis is not closed")
            return inner
        if token not in self.known:
            self.node.fail(f'no layer or region "{token}"', did_you_mean(token, self.known))
        return Name(token)
