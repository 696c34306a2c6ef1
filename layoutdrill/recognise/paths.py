"""Read the conduction of a switch network between two nets, as a series-parallel expression where there is one."""

from collections.abc import Iterable

from layoutdrill.simulate.effort import spend
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, Var, text

Edge = tuple[str, str, Expression]


def conduction(edges: Iterable[Edge], start: str, end: str) -> Expression | None:
    """
    Return when `start` and `end` are joined, or None where no path joins them.

    Parallel and series switches are merged until one is left, so that the expression shows how the network is built;
    a bridge, which has no such form, is given as the sum of its paths. Raises OutOfEffortError for too many of them.
    """
    work: dict[frozenset[str], Expression] = {}
    for a, b, literal in edges:
        if a != b:
            _parallel(work, frozenset((a, b)), literal)
    degree: dict[str, set[frozenset[str]]] = {}
    for pair in work:
        for net in pair:
            degree.setdefault(net, set()).add(pair)
    if start not in degree or end not in degree:
        return None
    queue = [net for net in degree if net not in (start, end)]
    while queue:
        net = queue.pop()
        pairs = degree.get(net)
        if pairs is None or len(pairs) > 2:
            continue
        if len(pairs) == 1:
            (pair,) = pairs
            (other,) = pair - {net}
            del work[pair]
            degree[other].discard(pair)
            del degree[net]
        elif len(pairs) == 2:
            first, second = sorted(pairs, key=sorted)
            (a,) = first - {net}
            (b,) = second - {net}
            joined = frozenset((a, b))
            left, right = work.pop(first), work.pop(second)
            if b == start or a == end or (a != start and b != end and _first(right) < _first(left)):
                left, right = right, left
            _parallel(work, joined, series(left, right))
            for other, old in ((a, first), (b, second)):
                degree[other].discard(old)
                degree[other].add(joined)
            del degree[net]
            queue.extend(n for n in (a, b) if n not in (start, end))
        else:
            continue
        if len(pairs) == 1:
            queue.extend(n for n in (other,) if n not in (start, end))
    direct = work.get(frozenset((start, end)))
    if len(work) == (direct is not None):
        return direct
    return _paths(work, start, end)


def _parallel(work: dict[frozenset[str], Expression], pair: frozenset[str], literal: Expression) -> None:
    old = work.get(pair)
    work[pair] = literal if old is None else parallel(old, literal)


def series(first: Expression, second: Expression) -> Expression:
    """Return the conjunction, flat and without repeats (a stack with one gate twice is one switch)."""
    return _merge(And, first, second)


def parallel(first: Expression, second: Expression) -> Expression:
    """Return the disjunction, flat and without repeats."""
    return _merge(Or, first, second)


def _merge(kind: type[And | Or], first: Expression, second: Expression) -> Expression:
    terms: list[Expression] = []
    seen: set[str] = set()
    sides = [part.terms if isinstance(part, kind) else (part,) for part in (first, second)]
    spend(2 * sum(map(len, sides)))
    for side in sides:
        for term in side:
            if isinstance(term, Const):
                if term.value is (kind is Or):
                    return term
                continue
            key = shape_key(term)
            if key not in seen:
                seen.add(key)
                terms.append(term)
    if not terms:
        return Const(kind is And)
    return terms[0] if len(terms) == 1 else kind(tuple(terms))


def _first(e: Expression) -> str:
    """Return the name that an expression begins with."""
    while not isinstance(e, (Const, Var)):
        e = e.term if isinstance(e, Not) else e.terms[0]
    return e.name if isinstance(e, Var) else ""


def shape_key(e: Expression) -> str:
    """Return a text that is equal for expressions that differ only in the order of terms."""
    if isinstance(e, Var):
        return e.name
    if isinstance(e, Not) and isinstance(e.term, Var):
        return "!" + e.term.name
    if isinstance(e, (And, Or)):
        mark = "*" if isinstance(e, And) else "+"
        return "(" + mark.join(sorted(shape_key(t) for t in e.terms)) + ")"
    return text(e)


def _paths(work: dict[frozenset[str], Expression], start: str, end: str) -> Expression | None:
    near: dict[str, list[tuple[str, Expression]]] = {}
    for pair, literal in work.items():
        a, b = sorted(pair)
        near.setdefault(a, []).append((b, literal))
        near.setdefault(b, []).append((a, literal))
    ways: dict[str, Expression] = {}
    stack: list[tuple[str, Expression, frozenset[str]]] = [(start, Const(True), frozenset((start,)))]
    while stack:
        net, so_far, seen = stack.pop()
        for other, literal in near.get(net, ()):
            if other in seen:
                continue
            path = series(so_far, literal)
            if other == end:
                ways.setdefault(shape_key(path), path)
            else:
                spend(len(seen))
                stack.append((other, path, seen | {other}))
    if not ways:
        return None
    always = next((path for path in ways.values() if isinstance(path, Const)), None)
    return always or (next(iter(ways.values())) if len(ways) == 1 else Or(tuple(ways.values())))
