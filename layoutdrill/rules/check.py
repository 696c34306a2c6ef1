"""
Check a layout against the design rules of its process.

Distances are between edges; between two outer corners the straight line counts. A notch counts as spacing.
"""

from collections.abc import Callable
from math import isqrt

from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.model import Layout
from layoutdrill.process.design_rules import DesignRule, RuleKind
from layoutdrill.process.expression import Expression, Name, text_of
from layoutdrill.process.model import Process
from layoutdrill.rules.bitmap import RIGHT, UP, Field, flooded, shrink, smear
from layoutdrill.rules.model import Violation

MOST = 20
"""Places told for one rule."""

_LARGEST = 400_000_000


def check(layout: Layout, process: Process) -> tuple[Violation, ...]:
    """
    Return every rule that the layout breaks, with its places, in the order of the process file.

    Raises LayoutdrillError for a process without rules, or a layout of more than 400 million grid squares.
    """
    if not process.rules:
        raise LayoutdrillError(f"process {process.name} has no design rules", todo="check against another process")
    flat = layout.flattened()
    box = flat.box
    if box is None:
        return ()
    field = Field.around(box, 2 + max(rule.value for rule in process.rules.values()))
    if field.stride * field.height > _LARGEST:
        raise LayoutdrillError(f"layout {layout.name} is too large to check", todo="check a part of it")
    areas = _Areas(process, {layer: field.bits(rects) for layer, rects in flat.shapes.items()})
    violations: list[Violation] = []
    for rule in process.rules.values():
        bad = _broken(rule, areas, field)
        if bad:
            text = sentence(rule, process)
            violations += [Violation(rule.name, text, place) for place in field.places(bad, MOST)]
    return tuple(violations)


def sentence(rule: DesignRule, process: Process) -> str:
    """Say in words what breaking the rule means."""
    a = text_of(rule.a)
    b = text_of(rule.b) if rule.b is not None else ""
    size = f"{rule.value / process.grid_per_lambda:g} λ"
    return {
        RuleKind.WIDTH: f"{a} narrower than {size}",
        RuleKind.SPACING: f"two edges of {a} closer than {size}",
        RuleKind.SEPARATION: f"{a} closer than {size} to {b}",
        RuleKind.ENCLOSURE: f"{a} not inside {b} by {size}",
        RuleKind.EXTENSION: f"{a} reaches less than {size} past {b}",
        RuleKind.SIZE: f"{a} is not a square of {size}",
        RuleKind.HOLDS: f"{a} without {b}",
        RuleKind.ABSENT: f"there must be no {a}",
    }[rule.kind]


class _Areas:
    """Bitmaps of expressions, each computed once."""

    def __init__(self, process: Process, layers: dict[str, int]) -> None:
        self.process = process
        self.known: dict[Expression, int] = {Name(layer): layers.get(layer, 0) for layer in process.layers}

    def __call__(self, expression: Expression) -> int:
        bits = self.known.get(expression)
        if bits is None:
            bits = self.known[expression] = self._compute(expression)
        return bits

    def _compute(self, expression: Expression) -> int:
        if isinstance(expression, Name):
            return self(self.process.regions[expression.name])
        left, right = self(expression.left), self(expression.right)
        if expression.operator == "&":
            return left & right
        return left | right if expression.operator == "|" else left & ~right


def _broken(rule: DesignRule, areas: _Areas, field: Field) -> int:
    a = areas(rule.a)
    if not a:
        return 0
    b = areas(rule.b) if rule.b is not None else 0
    return _CHECKS[rule.kind](a, b, rule.value, field)


def _width(a: int, _: int, least: int, field: Field) -> int:
    n, up = least - 1, field.step(UP)
    kept = shrink(shrink(a, n, 1), n, up)
    return a ^ smear(smear(kept, n, 1), n, up)


def _spacing(a: int, _: int, least: int, field: Field) -> int:
    bad = 0
    for direction in (RIGHT, UP):
        step = field.step(direction)
        closed = shrink(smear(a, least - 1, step), least - 1, step)
        bad |= closed & ~a
    return bad | _corners(a, a, least, field)


def _separation(a: int, b: int, least: int, field: Field) -> int:
    either = a | b
    only_a, only_b = a & ~b, b & ~a
    bad = 0
    for step in (1, field.step(UP)):
        for start, goal in ((only_a, only_b), (only_b, only_a)):
            reach = start
            for _ in range(least):
                reach <<= step
                bad |= reach & goal
                reach &= ~either
    return bad | _corners(a, b, least, field) | _corners(b, a, least, field)


def _corners(a: int, b: int, least: int, field: Field) -> int:
    """
    Return upper corners of `a` that have a lower corner of `b` beyond them, nearer than allowed.

    Corners that lie in the other area are no gap.
    """
    up = field.step(UP)
    above_a, below_b = a & ~(a >> up), b & ~(b << up)
    if a is not b:
        above_a, below_b = above_a & ~b, below_b & ~a
    bad = 0
    for side in (1, -1):
        corner = above_a & ~(a >> 1 if side == 1 else a << 1)
        facing = below_b & ~(b << 1 if side == 1 else b >> 1)
        if not corner or not facing:
            continue
        for rise in range(least):
            run = isqrt(least * least - 1 - rise * rise)
            near = facing >> ((rise + 1) * up)
            spread = smear(near, run, 1) >> (run + 1) if side == 1 else smear(near, run, 1) << 1
            bad |= corner & spread
    return bad


def _enclosure(a: int, b: int, least: int, field: Field) -> int:
    up = field.step(UP)
    grown = smear(smear(a, 2 * least, 1), 2 * least, up) >> (least * (up + 1))
    return grown & ~b


def _extension(a: int, b: int, least: int, field: Field) -> int:
    crossing = a & b
    up = field.step(UP)
    bad = 0
    for step in (1, up):
        ahead = crossing & ~(b >> step)
        bad |= (smear(ahead, least, step) ^ ahead) & ~a
        behind = crossing & ~(b << step)
        bad |= ((smear(behind, least, step) >> (least * step)) ^ behind) & ~a
    return bad


def _size(a: int, _: int, side: int, field: Field) -> int:
    up = field.step(UP)
    return _width(a, 0, side, field) | shrink(a, side, 1) | shrink(a, side, up)


def _holds(a: int, b: int, _: int, field: Field) -> int:
    return a ^ flooded(a & b, a, field.stride)


def _absent(a: int, *_: object) -> int:
    return a


_CHECKS: dict[RuleKind, Callable[[int, int, int, Field], int]] = {
    RuleKind.WIDTH: _width,
    RuleKind.SPACING: _spacing,
    RuleKind.SEPARATION: _separation,
    RuleKind.ENCLOSURE: _enclosure,
    RuleKind.EXTENSION: _extension,
    RuleKind.SIZE: _size,
    RuleKind.HOLDS: _holds,
    RuleKind.ABSENT: _absent,
}
