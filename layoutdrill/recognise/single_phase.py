"""
Find register bits on one clock line without its inverse: three stages in a row, each let go by the clock on one side.

The form is that of true single-phase clocked logic (Yuan and Svensson 1989; from memory).
"""

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import Work
from layoutdrill.simulate.expression import And, Expression, Not, Var

Sides = tuple[frozenset[str], frozenset[str]]
"""The nets in series that pull a stage low, and those that pull it high."""


def find_single_phase(work: Work) -> None:
    """Take three stages that make a register bit, with the clock on one line."""
    view = work.view
    sides = {net: ways for net in view.stages if net in work.free_gates and (ways := _sides(view, net)) is not None}
    by_sides: dict[Sides, str] = {}
    for net, pair in sides.items():
        by_sides.setdefault(pair, net)
    for first, pair in sides.items():
        for rising in (True, False):
            near, far = pair if rising else pair[::-1]
            if len(near) != 1 or len(far) != 2 or not near < far:
                continue
            (data,), (clock,) = near, far - near
            on = frozenset((clock,))
            second = by_sides.get(_turned(on | {first}, on, rising=rising))
            third = by_sides.get(_turned(on | {second}, frozenset((second,)), rising=rising)) if second else None
            if second and third and {first, second, third} <= work.free_gates:
                _build(work, data, clock, [first, second, third], rising=rising)


def _turned(low: frozenset[str], high: frozenset[str], *, rising: bool) -> Sides:
    return (low, high) if rising else (high, low)


def _build(work: Work, data: str, clock: str, chain: list[str], *, rising: bool) -> None:
    out = chain[-1]
    edge = "rise" if rising else "fall"
    if data == out:
        words = f"{out} turns over at each {edge} of {clock}; {_ALONE}"
        work.build("register bit", set(chain), set(), [Port(clock, Role.CLOCK), Port(out, Role.OUTPUT)], words)
        return
    ports = [Port(data, Role.DATA), Port(clock, Role.CLOCK), Port(out, Role.OUTPUT)]
    words = f"takes {data} at the {edge} of {clock}, inverted on {out}; {_ALONE}"
    work.build("register bit", set(chain), set(), ports, words)


_ALONE = "one clock line alone, holds by charge"


def is_single_phase(register: Structure) -> bool:
    """Tell whether a register bit is one of these, whose output is the inverse of what it took."""
    return register.function.endswith(_ALONE)


def _sides(view: View, net: str) -> Sides | None:
    """Return what pulls a net each way, where each way is one transistor or some in series."""
    stage = view.stages[net]
    if set(stage.pull) != {(Kind.N, "low"), (Kind.P, "high")} or stage.loads:
        return None
    low, high = _series(stage.pull[Kind.N, "low"]), _series(stage.pull[Kind.P, "high"])
    return (low, high) if low and high else None


def _series(when: Expression) -> frozenset[str] | None:
    terms = when.terms if isinstance(when, And) else (when,)
    plain = [t.term if isinstance(t, Not) else t for t in terms]
    return frozenset(t.name for t in plain if isinstance(t, Var)) if all(isinstance(t, Var) for t in plain) else None
