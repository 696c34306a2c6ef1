"""
Build the complementary transistor network of a static gate from its function.

The pull-down network conducts where the output is 0, its dual in p transistors where the output is 1: in series for
and, side by side for or, in the order written. Source: any CMOS textbook (Weste & Harris, static complementary gates).
"""

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, Var, Xor

__all__ = ["Plan", "dual", "literals", "plan"]

_MOST_LITERALS = 24


class Plan:
    """
    How one gate is built: `pull_down` over literals (Var, or Not of a Var whose inverter is needed), and whether
    an output inverter follows.
    """

    __slots__ = ("inverted_output", "pull_down")

    def __init__(self, pull_down: Expression, *, inverted_output: bool) -> None:
        self.pull_down = pull_down
        self.inverted_output = inverted_output


def plan(value: Expression, where: Where | None = None) -> Plan:
    """
    Choose the cheaper of two builds of `y = value`: a gate that pulls down where the value is 0, or one that pulls
    down where it is 1 and an inverter behind it. On a tie, the one with no output inverter.

    Raises LayoutdrillError for a constant, or for a function too large for one gate.
    """
    if max(_literal_counts(value)) > _MOST_LITERALS:  # counted before an exclusive or is multiplied out
        raise _too_many(where)
    direct = _pushed(value, complemented=True)
    behind = _pushed(value, complemented=False)
    for form in (direct, behind):
        if _constant(form):
            raise LayoutdrillError("a gate cannot have a constant in it", where=where, todo="simplify the function")
        if len(literals(form)) > _MOST_LITERALS:
            raise _too_many(where)
    if _inverters(direct) <= _inverters(behind) + 1:
        return Plan(direct, inverted_output=False)
    return Plan(behind, inverted_output=True)


def _too_many(where: Where | None) -> LayoutdrillError:
    return LayoutdrillError(
        f"more than {_MOST_LITERALS} literals in one gate", where=where, todo="write it in several stages"
    )


def _literal_counts(e: Expression) -> tuple[int, int]:
    """Return how many literals `e` and its complement come to, without writing them out."""
    if isinstance(e, (Var, Const)):
        return 1, 1
    if isinstance(e, Not):
        true, false = _literal_counts(e.term)
        return false, true
    counts = [_literal_counts(term) for term in e.terms]
    if isinstance(e, Xor):  # a ^ b and its complement both hold each form of a and of b once
        side = counts[-1][0]
        rest = sum(counts[-1])
        for true, false in reversed(counts[:-1]):
            side = min(true + false + rest, _MOST_LITERALS + 1)
            rest = 2 * side
        return side, side
    return sum(true for true, _ in counts), sum(false for _, false in counts)


def dual(form: Expression) -> Expression:
    """Exchange and and or: series for parallel."""
    if isinstance(form, And):
        return Or(tuple(dual(term) for term in form.terms))
    if isinstance(form, Or):
        return And(tuple(dual(term) for term in form.terms))
    return form


def literals(form: Expression) -> tuple[Expression, ...]:
    """Return the literals in the order written, repeats kept."""
    if isinstance(form, (And, Or)):
        return tuple(literal for term in form.terms for literal in literals(term))
    return (form,)


def _inverters(form: Expression) -> int:
    return len({literal for literal in literals(form) if isinstance(literal, Not)})


def _constant(form: Expression) -> bool:
    return any(isinstance(literal, Const) for literal in literals(form))


def _pushed(e: Expression, *, complemented: bool) -> Expression:
    """Return `e`, or its complement, with every not pushed down to the variables and nested terms flattened."""
    if isinstance(e, Not):
        return _pushed(e.term, complemented=not complemented)
    if isinstance(e, Var):
        return Not(e) if complemented else e
    if isinstance(e, Const):
        return Const(e.value != complemented)
    if isinstance(e, Xor):
        return _pushed(_without_xor(e.terms), complemented=complemented)
    joint = Or if isinstance(e, And) == complemented else And
    terms: list[Expression] = []
    for term in e.terms:
        pushed = _pushed(term, complemented=complemented)
        terms.extend(pushed.terms if isinstance(pushed, joint) else (pushed,))
    return joint(tuple(terms))


def _without_xor(terms: tuple[Expression, ...]) -> Expression:
    """Write an exclusive or as a sum of products: a ^ b = a*!b + !a*b."""
    first, *rest = terms
    if not rest:
        return first
    second = _without_xor(tuple(rest))
    return Or((And((first, Not(second))), And((Not(first), second))))
