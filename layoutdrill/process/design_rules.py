"""Design rules as data: what must be how wide, how far apart, how far inside or beyond what."""

from collections.abc import Mapping
from enum import StrEnum

from layoutdrill.errors import Where
from layoutdrill.process.expression import Expression, parse_expression
from layoutdrill.units import GridUnits
from layoutdrill.value import value
from layoutdrill.yamldoc import Node


class RuleKind(StrEnum):
    """The forms a rule may take; `a` and `b` are its areas, in the order written."""

    WIDTH = "width"  # no part of a is narrower
    SPACING = "spacing"  # parts of a, and the arms of a notch, are at least so far apart
    SEPARATION = "separation"  # a and b, where they do not overlap, are at least so far apart
    ENCLOSURE = "enclosure"  # a lies inside b, with so much to spare all round
    EXTENSION = "extension"  # where a crosses b, a reaches so far beyond b
    SIZE = "size"  # each piece of a is a square of exactly this side
    HOLDS = "holds"  # each piece of a has some of b in it
    ABSENT = "absent"  # a is empty


_AREAS = {
    RuleKind.WIDTH: 1,
    RuleKind.SPACING: 1,
    RuleKind.SEPARATION: 2,
    RuleKind.ENCLOSURE: 2,
    RuleKind.EXTENSION: 2,
    RuleKind.SIZE: 1,
    RuleKind.HOLDS: 2,
    RuleKind.ABSENT: 1,
}

_WITHOUT_FIGURE = (RuleKind.HOLDS, RuleKind.ABSENT)


@value
class DesignRule:
    """One rule. `value` is in grid units (0 where the form has none); `source` says where the figure was published."""

    name: str
    kind: RuleKind
    a: Expression
    b: Expression | None
    value: GridUnits
    source: str
    where: Where


def read_rules(node: Node, known: tuple[str, ...], per_lambda: int) -> Mapping[str, DesignRule]:
    """
    Read the `rules:` section: `name: {kind: area or [area, area], lambda: figure, source: text}`.

    Areas are expressions over `known` layers and regions. Figures are in λ and must fall on the grid.
    """
    return {name: _rule(name, item, known, per_lambda) for name, item in node.mapping().items()}


def _rule(name: str, node: Node, known: tuple[str, ...], per_lambda: int) -> DesignRule:
    kinds = tuple(kind.value for kind in RuleKind)
    fields = node.fields(("source",), ("lambda", *kinds))
    stated = [kind for kind in RuleKind if kind.value in fields]
    if len(stated) != 1:
        node.fail(f'rule "{name}" states {len(stated)} kinds', "give exactly one of " + ", ".join(kinds))
    kind = stated[0]
    areas = fields[kind.value].items()
    if len(areas) != _AREAS[kind]:
        fields[kind.value].fail(f"{kind.value} takes {_AREAS[kind]} areas, {len(areas)} found")
    value = 0
    if kind in _WITHOUT_FIGURE:
        if "lambda" in fields:
            fields["lambda"].fail(f"a rule “{kind}” has no figure", "remove it")
    elif "lambda" not in fields:
        node.fail(f'rule "{name}" has no figure', 'add "lambda: …"')
    else:
        exact = fields["lambda"].number(0) * per_lambda
        value = round(exact)
        if value != exact:
            fields["lambda"].fail("the figure does not fall on the grid", f"use steps of 1/{per_lambda}")
    parsed = [parse_expression(area, known) for area in areas]
    return DesignRule(
        name=name,
        kind=kind,
        a=parsed[0],
        b=parsed[1] if len(parsed) > 1 else None,
        value=value,
        source=fields["source"].text(),
        where=node.where,
    )
