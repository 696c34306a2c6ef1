"""Take apart stages that several branches share: tri-state stacks side by side, a set or a reset, a keeper."""

from collections.abc import Collection, Iterable, Mapping

from layoutdrill.netlist.model import Kind
from layoutdrill.recognise.gates import Gate, Literal, understand
from layoutdrill.recognise.stages import Stage
from layoutdrill.simulate.expression import And, Expression, Not, Or, Var, variables


def stacks(stage: Stage, roots: Mapping[str, Literal], driven: Collection[str] = ()) -> list[tuple[str, str, Stage]]:
    """
    Pair the n and p branches of a stage that share their data and have one switch each of their own.

    Pairs whose own switches are known complements come first; what is then left is paired by the shared data alone,
    where the switches are not gated by `driven` nets.
    Returns (gate of the n switch, gate of the p switch, the pair as a stage).
    """
    single = overrides(stage)
    lows = [(w, m) for kind, side, w, m in stage.parts if kind is Kind.N and side == "low" and isinstance(w, And)]
    highs = [(w, m) for kind, side, w, m in stage.parts if kind is Kind.P and side == "high" and isinstance(w, And)]
    pairs = []
    for known in (True, False):
        for low, members in list(lows):
            for high, others in highs:
                own = _own_switches(low, high, single)
                if own is None:
                    continue
                a, b = own
                (root, straight), (other, turned) = roots.get(a, (a, True)), roots.get(b, (b, True))
                if known and (root != other or straight == turned):
                    continue
                if not known and {a, b} & set(driven):
                    continue
                pull = {(Kind.N, "low"): _drop(low, single), (Kind.P, "high"): _drop(high, single)}
                pairs.append((a, b, Stage(stage.output, pull, {}, [], {*members, *others})))
                highs.remove((high, others))
                lows.remove((low, members))
                break
    return pairs


def overrides(stage: Stage) -> dict[str, int]:
    """Return the nets that gate a single switch of a stage, and the level it forces: a set or a reset."""
    levels = {}
    for kind, side, when, _ in stage.parts:
        if kind is Kind.N and side == "low" and isinstance(when, Var):
            levels[when.name] = 0
        elif kind is Kind.P and side == "high" and isinstance(when, Not) and isinstance(when.term, Var):
            levels[when.term.name] = 1
    return levels


def _drop(form: Expression, nets: Iterable[str]) -> Expression:
    """Leave out of a series the switches gated by some nets."""
    if not isinstance(form, And):
        return form
    rest = tuple(t for t in form.terms if not (isinstance(t, (Var, Not)) and set(variables(t)) <= set(nets)))
    return rest[0] if len(rest) == 1 else And(rest)


def _own_switches(low: Expression, high: Expression, ignored: Iterable[str]) -> tuple[str, str] | None:
    """Return the gates that an n and a p branch do not share, where each has one, in series, and they share others."""
    assert isinstance(low, And)
    assert isinstance(high, And)
    mine, theirs = (set(variables(form)) - set(ignored) for form in (low, high))
    if len(mine - theirs) != 1 or len(theirs - mine) != 1 or not mine & theirs:
        return None
    a, b = (mine - theirs).pop(), (theirs - mine).pop()
    return (a, b) if Var(a) in low.terms and Not(Var(b)) in high.terms else None


def share(gate: Gate, stacks: list[Gate], forced: dict[str, int]) -> None:
    """Correct what is known of a net that several tri-state stages and a set or reset share."""
    gate.kind = "tri-state"
    gate.controls = tuple(dict.fromkeys(n for g in stacks for n in g.controls))
    gate.inputs = tuple(dict.fromkeys((*(n for g in stacks for n in g.inputs), *forced)))
    gate.notes.clear()


def tristates(stage: Stage, gate: Gate, roots: Mapping[str, Literal]) -> list[Gate]:
    """Return the tri-state stages that drive one net together."""
    if gate.kind == "tri-state":
        return [gate]
    if sum(1 for part in stage.parts if part[0] is Kind.N) < 2:
        return []
    gates = [understand(part, roots, one_kind=None) for _, _, part in stacks(stage, roots)]
    if len(gates) < 2 or any(g.kind != "tri-state" for g in gates):
        return []
    singles = sum(len(m) for _, _, w, m in stage.parts if isinstance(w, Var) or (isinstance(w, Not) and len(m) == 1))
    return gates if sum(len(g.members) for g in gates) + singles == len(stage.members) else []


def without_keeper(stage: Stage, gates: dict[str, Gate]) -> tuple[Stage, str] | None:
    """Return the stage without the switches that its own inverter gates, and that inverter's net; None without one."""
    sides = {part[:2] for part in stage.parts}
    for _, _, when, _ in stage.parts:
        inverter = next(iter(variables(when)), "")
        gate = gates.get(inverter)
        if gate is None or gate.inverter_of != stage.output or not isinstance(when, (Var, Not)):
            continue
        rest = [part for part in stage.parts if set(variables(part[2])) != {inverter}]
        pull: dict[tuple[Kind, str], Expression] = {}
        for other, rail, form, _ in rest:
            pull[other, rail] = form if (other, rail) not in pull else Or((pull[other, rail], form))
        if set(pull) == sides:
            return Stage(stage.output, pull, stage.loads, rest, set(stage.members)), inverter
    return None


def restored(gate: Gate, stage: Stage, inverter: str) -> Gate:
    """Give a stage its keeper back."""
    if gate.kind != "torn":
        gate.notes.append(f"a keeper gated by {inverter} holds it")
        gate.members = tuple(sorted(stage.members))
    return gate
