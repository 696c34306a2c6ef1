"""
Tell, in logic of one kind of transistor, loads that a phase switches from precharge and from pairs driven both ways.

A load is long against its drivers (the ratio of textbooks is 4 to 8; Mead & Conway 1980, from memory); a device that
charges is not, for it never fights. Which switch of a series is the phase and which the data, one stage does not show:
the phase is the net that stands in the series of several stages, or that charges others.
"""

from collections import Counter
from collections.abc import Sequence

from layoutdrill.netlist.model import Kind
from layoutdrill.recognise.gates import Gate, Literal, simplest, static_term, without
from layoutdrill.recognise.stages import Stage
from layoutdrill.recognise.switches import Prepared
from layoutdrill.simulate.expression import And, Expression, Not, Var, variables
from layoutdrill.simulate.minimal import complement

RATIO, SURE = 2.0, 8.0
"""A pull-up of so many times a driver's resistance is a load; one of so many is, whatever stands beside it."""
TERM = "clocked-load gate"


def tell_clocked(
    prepared: Prepared, stages: dict[str, Stage], gates: dict[str, Gate], roots: dict[str, Literal], kind: Kind
) -> None:
    """Correct gates that were taken for precharged or for pairs driven both ways, looking at all stages together."""
    switched = {n: g for n, g in gates.items() if g.kind in ("precharged", "push-pull") and g.controls}
    charging = Counter(g.controls[0] for n, g in switched.items() if g.controls[0] != n)
    series = Counter(term for n in switched for term in _single_terms(_drive(stages[n], kind)))
    for net, gate in switched.items():
        control = gate.controls[0]
        when = _drive(stages[net], kind)
        if control == net or when is None or control in variables(when) or _driven_both_ways(gate, roots):
            continue
        phases = [n for n in _single_terms(when) if n not in gates and (series[n] > 1 or n in charging)]
        if phases and len(variables(when)) > 1:
            _set_foot(gate, when, control, max(phases, key=lambda n: (n in charging, series[n])), kind)
            continue
        by_ratio = _is_load(prepared, stages[net], control, RATIO)
        lone = gate.controls[1:] and gate.controls[1] not in gates and charging[control] == 1
        if lone and not _is_load(prepared, stages[net], control, SURE):
            continue  # a dynamic gate by itself: its foot may be a phase
        alone = len(variables(when)) == 1
        if by_ratio or (alone and control not in gates and len(prepared.gated[control]) > 1):
            form = simplest(complement(when) if kind is Kind.N else when)
            gate.kind, gate.term, gate.form = "clocked", TERM, form
            gate.inputs, gate.controls = variables(form), (control,)
            level, on = ("high", 1) if kind is Kind.N else ("low", 0)
            gate.notes.append(f"its load conducts while {control} is {on}; else nothing pulls it {level}")


def also_called(gate: Gate) -> tuple[str, ...]:
    """Return what a gate with a clocked load would be with one that stays on."""
    plain = static_term(gate.form)
    return (plain,) if plain != "complex gate" else ()


def _drive(stage: Stage, kind: Kind) -> Expression | None:
    return stage.pull.get((kind, "low" if kind is Kind.N else "high"))


def _single_terms(when: Expression | None) -> Sequence[str]:
    """Return the nets that alone open or close a series."""
    if not isinstance(when, And):
        return ()
    plain = [t.term if isinstance(t, Not) else t for t in when.terms]
    return [t.name for t in plain if isinstance(t, Var)]


def _driven_both_ways(gate: Gate, roots: dict[str, Literal]) -> bool:
    """Tell whether the two switches of a pair are gated by a net and its complement."""
    control = gate.controls[0]
    root, straight = roots.get(control, (control, True))
    return any(roots.get(n, (n, True)) == (root, not straight) for n in gate.inputs)


def _is_load(prepared: Prepared, stage: Stage, control: str, ratio: float) -> bool:
    switches = [prepared.switches[i] for i in stage.members]
    pulls = [s.resistance for s in switches if s.gate == control]
    drivers = [s.resistance for s in switches if s.gate != control]
    return bool(pulls and drivers) and all(drivers) and min(pulls) >= ratio * max(drivers)


def _set_foot(gate: Gate, when: Expression, control: str, foot: str, kind: Kind) -> None:
    rest = without(when, foot)
    gate.kind, gate.term = "precharged", "precharged gate"
    gate.form = simplest(complement(rest) if kind is Kind.N else rest)
    gate.inputs, gate.controls = variables(gate.form), (control, foot)
