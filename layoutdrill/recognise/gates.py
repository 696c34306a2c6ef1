"""Name what one stage is: static, ratioed, tri-state or precharged gate, Schmitt inverter, or a part of one."""

from collections.abc import Mapping
from dataclasses import field

from layoutdrill.netlist.model import Kind
from layoutdrill.recognise.paths import shape_key
from layoutdrill.recognise.stages import MOST_WORK, Stage
from layoutdrill.recognise.terms import UNKNOWN
from layoutdrill.simulate.effort import OutOfEffortError, leave, part
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, Var, Xor, text, truth, variables
from layoutdrill.simulate.minimal import complement, halves, minimal
from layoutdrill.value import mutable

Literal = tuple[str, bool]
"""(net, True where the net itself, False where its complement)."""
Roots = Mapping[str, Literal]
WIDEST = 16
"""Networks of more inputs are compared by their shape alone."""
MOST_SHORTENED = 9
MOST_CONTROLS = 4
"""No stage is let go by more nets than this."""


@mutable
class Gate:
    """
    One stage, understood. `form` is the output over its gate nets where it is driven; `kind` one of static, ratioed,
    tri-state, precharged, clocked (a load that a phase switches), push-pull, Schmitt, pull-up, pull-down, load, torn;
    unsettled where it would take too long to tell which.

    `enable` is the condition of driving for tri-state stages; `data` and `controls` are the input nets of each sort.
    """

    output: str
    kind: str
    form: Expression
    inputs: tuple[str, ...]
    members: tuple[int, ...]
    term: str
    enable: Expression | None = None
    controls: tuple[str, ...] = ()
    notes: list[str] = field(default_factory=list)

    @property
    def inverter_of(self) -> str | None:
        """The input net, where the stage is an inverter that always drives."""
        if self.kind in ("static", "ratioed", "Schmitt") and isinstance(self.form, Not) and len(self.inputs) == 1:
            return self.inputs[0]
        return None


def static_term(form: Expression) -> str:
    """
    Return the canonical term of a function of positive inputs: inverter, NAND3, AOI21, AND2, XOR2 …

    A function with no name of its own is a complex gate.
    """
    if isinstance(form, Const):
        return "tie cell"
    if isinstance(form, Var):
        return "buffer"
    if isinstance(form, Xor):
        plain = [t.term if isinstance(t, Not) else t for t in form.terms]
        turned = sum(isinstance(t, Not) for t in form.terms) % 2 == 1
        if all(isinstance(t, Var) for t in plain):
            return f"{'XNOR' if turned else 'XOR'}{len(plain)}"
        return "complex gate"
    inverted = isinstance(form, Not)
    core = form.term if isinstance(form, Not) else form
    if isinstance(core, Var):
        return "inverter" if inverted else "buffer"
    if isinstance(core, Xor):
        inner = static_term(core)
        return {"XOR": "XNOR", "XNO": "XOR"}[inner[:3]] + inner.lstrip("XNOR") if inner != "complex gate" else inner
    if not isinstance(core, (And, Or)):
        return "complex gate"
    digits = _digits(core)
    if digits is None:
        if shape_key(core) in _majorities(core):
            return "minority gate" if inverted else "majority gate"
        return "complex gate"
    if all(d == 1 for d in digits):
        name = "AND" if isinstance(core, And) else "OR"
        return f"{'N' if inverted else ''}{name}{len(digits)}"
    name = "OA" if isinstance(core, And) else "AO"
    return name + ("I" if inverted else "") + "".join(str(d) for d in digits)


def _digits(core: And | Or) -> list[int] | None:
    """Return the sizes of the groups of a two-level form, largest first, or None where it is deeper or has inverses."""
    inner = Or if isinstance(core, And) else And
    digits = []
    for term in core.terms:
        if isinstance(term, Var):
            digits.append(1)
        elif isinstance(term, inner) and all(isinstance(t, Var) for t in term.terms):
            digits.append(len(term.terms))
        else:
            return None
    return sorted(digits, reverse=True)


def _majorities(core: Expression) -> set[str]:
    names = sorted(variables(core))
    if len(names) != 3:
        return set()
    a, b, c = names
    majority = 0b11101000
    return {shape_key(core)} if truth(core, (a, b, c)) == majority else set()


def conducts_low(stage: Stage) -> Expression:
    return stage.pull.get((Kind.N, "low"), Const(False))


def conducts_high(stage: Stage) -> Expression:
    return stage.pull.get((Kind.P, "high"), Const(False))


def simplest(form: Expression) -> Expression:
    """Return the form itself where it has a name, else the shortest expression of its function."""
    if static_term(form) != "complex gate":
        return form
    names = tuple(sorted(variables(form)))
    if len(names) > MOST_SHORTENED:
        return form
    short = minimal(truth(form, names), names)
    if static_term(short) != "complex gate":
        return short
    return short if len(text(short)) < len(text(form)) else form


def understand(stage: Stage, roots: Roots, *, one_kind: Kind | None, brief: bool = False) -> Gate:
    """
    Return what the stage is. `roots` tells each net that is the complement or copy of another.

    `one_kind` is the kind of logic with one kind of transistor (NMOS or PMOS), else None. `brief`: of a stage that is
    no proper gate, nothing more is wanted.
    """
    members = tuple(sorted(stage.members))
    if stage.unsettled:
        return _unsettled(stage, members, stage.unsettled)
    try:
        with part(MOST_WORK):
            return _understood(stage, members, roots, one_kind=one_kind, brief=brief)
    except OutOfEffortError:
        what = f"what stage {stage.output} of {len(members)} switches does"
        leave(what)
        return _unsettled(stage, members, what)


def _unsettled(stage: Stage, members: tuple[int, ...], what: str) -> Gate:
    """Return a stage of which is known what it reads, and no more."""
    inputs = tuple(dict.fromkeys((*_inputs(*stage.pull.values()), *stage.reads)))
    notes = [f"not worked out: {what}"]
    return Gate(stage.output, "unsettled", Var(stage.output), inputs, members, UNKNOWN, notes=notes)


def _understood(stage: Stage, members: tuple[int, ...], roots: Roots, *, one_kind: Kind | None, brief: bool) -> Gate:
    low, high = conducts_low(stage), conducts_high(stage)
    follower_up = stage.pull.get((Kind.N, "high"))
    follower_down = stage.pull.get((Kind.P, "low"))
    if one_kind is not None:
        return _one_kind(stage, members, one_kind)
    # the other half of a transmission gate to a rail says nothing more
    if follower_up is not None and substitute(follower_up, roots) == substitute(high, roots):
        follower_up = None
    if follower_down is not None and substitute(follower_down, roots) == substitute(low, roots):
        follower_down = None
    if follower_up is not None or follower_down is not None:
        return _followers(stage, members, low, high)
    pulled = {side for side, when in (("low", low), ("high", high)) if not isinstance(when, Const)}
    if stage.loads and len(pulled) < 2:
        if len(pulled | set(stage.loads)) == 1:  # what else pulls the way of the load changes nothing
            return Gate(stage.output, "static", Const("high" in stage.loads), _inputs(high, low), members, "tie cell")
        if pulled:
            form = complement(low) if isinstance(high, Const) else high
            return _static(stage, members, form, "ratioed")
    if len(pulled) < 2:
        kind = "pull-up" if isinstance(low, Const) else "pull-down"
        form = high if isinstance(low, Const) else complement(low)
        return Gate(stage.output, kind, form, _inputs(form), members, kind)
    return _complementary(stage, members, low, high, roots, brief=brief)


def _inputs(*forms: Expression) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for form in forms for name in variables(form)))


def _static(stage: Stage, members: tuple[int, ...], form: Expression, kind: str) -> Gate:
    form = simplest(form)
    return Gate(stage.output, kind, form, _inputs(form), members, static_term(form))


def _one_kind(stage: Stage, members: tuple[int, ...], kind: Kind) -> Gate:
    """Name a stage of NMOS or PMOS logic: drivers to one rail, a load or a clocked pull to the other."""
    drive, rest = ("low", "high") if kind is Kind.N else ("high", "low")
    when = stage.pull.get((kind, drive))
    other = stage.pull.get((kind, rest))
    source = when.term if isinstance(when, Not) else when
    if other is not None and stage.output in variables(other) and isinstance(source, Var) and rest in stage.loads:
        return Gate(stage.output, "Schmitt", Not(source), (source.name,), members, "Schmitt inverter")
    if when is not None and rest in stage.loads and other is None:
        return _static(stage, members, complement(when) if kind is Kind.N else when, "ratioed")
    if when is not None and other is not None:
        pulls, drivers = set(variables(other)), set(variables(when))
        form = simplest(complement(when) if kind is Kind.N else when)
        if len(pulls) == 1:
            control = next(iter(pulls))
            gate = Gate(stage.output, "precharged", form, _inputs(form), members, "precharged gate")
            gate.controls = (control,)
            foot = when.terms[-1] if isinstance(when, And) else None  # the switch by the rail, on the other phase
            foot = foot.term if isinstance(foot, Not) else foot
            if isinstance(foot, Var) and control not in drivers:
                gate.form = simplest(
                    complement(without(when, foot.name)) if kind is Kind.N else without(when, foot.name)
                )
                gate.inputs = _inputs(gate.form)
                gate.controls = (control, foot.name)
            if len(drivers) == 1:  # two single switches: a push-pull pair, driven both ways
                gate.kind, gate.term = "push-pull", "push-pull pair"
            return gate
        return Gate(stage.output, "torn", form, _inputs(when, other), members, "unknown structure")
    if when is not None:
        form = complement(when) if kind is Kind.N else when
        return Gate(stage.output, "pull-down" if drive == "low" else "pull-up", form, _inputs(form), members,
                    "pull-down" if drive == "low" else "pull-up")  # fmt: skip
    if other is not None:
        return Gate(stage.output, "pull-up" if rest == "high" else "pull-down", other, _inputs(other), members,
                    "pull-up" if rest == "high" else "pull-down")  # fmt: skip
    return Gate(stage.output, "load", Const(rest == "high"), (), members, "pull-up" if rest == "high" else "pull-down")


def _followers(stage: Stage, members: tuple[int, ...], low: Expression, high: Expression) -> Gate:
    """Name a stage with an n switch to the high rail or a p switch to the low one: a Schmitt inverter feeds back so."""
    up = stage.pull.get((Kind.N, "high"))
    down = stage.pull.get((Kind.P, "low"))
    own = stage.output
    feeds = [own in variables(form) for form in (up, down) if form is not None]
    if feeds and all(feeds) and isinstance(low, Var) and high == Not(low):
        return Gate(own, "Schmitt", Not(low), (low.name,), members, "Schmitt inverter")
    forms = [f for f in (low, high, up, down) if f is not None and not isinstance(f, Const)]
    return Gate(own, "torn", high, _inputs(*forms), members, "unknown structure")


def _complementary(
    stage: Stage, members: tuple[int, ...], low: Expression, high: Expression, roots: Roots, *, brief: bool
) -> Gate:
    if isinstance(low, Var) and isinstance(high, Not) and high.term == low:  # by far the most frequent
        return Gate(stage.output, "static", high, (low.name,), members, "inverter")
    names = tuple(sorted({*variables(low), *variables(high)}))
    if len(names) > WIDEST:
        if shape_key(complement(low)) == shape_key(high) or shape_key(complement(high)) == shape_key(low):
            return _static(stage, members, complement(low), "static")
        if isinstance(high, Not) and isinstance(high.term, Var):
            clock = high.term.name
            if clock not in variables(low):
                return _unfooted(stage, members, low, clock)
            if isinstance(low, And) and clock not in variables(without(low, clock)):
                return _footed(stage, members, low, clock)
        return Gate(stage.output, "torn", high, names, members, "unknown structure")
    full = (1 << (1 << len(names))) - 1
    if truth(low, names) == full ^ truth(high, names):
        return _static(stage, members, complement(low), "static")
    rooted_low, rooted_high = (substitute(form, roots) for form in (low, high))
    tops = tuple(sorted({*variables(rooted_low), *variables(rooted_high)}))
    full = (1 << (1 << len(tops))) - 1
    downs, ups = truth(rooted_low, tops), truth(rooted_high, tops)
    if downs == full ^ ups:
        return _static(stage, members, complement(low), "static")
    if downs & ups and isinstance(high, Not) and isinstance(high.term, Var) and not isinstance(low, (Var, Const)):
        clock = high.term.name
        if clock not in variables(low):
            return _unfooted(stage, members, low, clock)
    if downs & ups:
        gate = Gate(stage.output, "torn", high, names, members, "unknown structure")
        gate.notes.append("pull-up and pull-down conduct together for some inputs")
        return gate
    if brief and sum(len(set(halves(downs | ups, i, len(tops)))) == 2 for i in range(len(tops))) > MOST_CONTROLS:
        return Gate(stage.output, "torn", high, names, members, "unknown structure")
    driven = minimal(downs | ups, tops)
    value = minimal(ups, tops, full & ~(downs | ups))
    controls = set(variables(driven))
    data = set(variables(value))
    if data and not controls & data:
        inputs = tuple(n for n in names if roots.get(n, (n, True))[0] in data)
        value = _unrooted(value, inputs, roots)
        term = {"inverter": "tri-state inverter", "buffer": "tri-state buffer"}.get(
            static_term(value), "tri-state gate"
        )
        gate = Gate(stage.output, "tri-state", value, inputs, members, term, enable=driven)
        gate.controls = tuple(n for n in names if n not in inputs)
        return gate
    if isinstance(high, Not) and isinstance(high.term, Var):
        return _footed(stage, members, low, high.term.name)
    gate = Gate(stage.output, "torn", value, names, members, "unknown structure", enable=driven)
    gate.notes.append(f"neither network conducts where {text(complement(driven))}")
    return gate


def _footed(stage: Stage, members: tuple[int, ...], low: Expression, clock: str) -> Gate:
    """Name a charged stage that a foot on the same clock keeps from conducting while it is charged."""
    form = simplest(complement(without(low, clock)))
    gate = Gate(stage.output, "precharged", form, _inputs(form), members, "precharged gate")
    gate.controls = (clock,)
    return gate


def _unfooted(stage: Stage, members: tuple[int, ...], low: Expression, clock: str) -> Gate:
    """Name a charged stage whose inputs must be low while it is charged, having no foot."""
    form = simplest(complement(low))
    gate = Gate(stage.output, "precharged", form, variables(low), members, "precharged gate")
    gate.controls = (clock,)
    gate.notes.append(f"no foot: the inputs must be low while {clock} precharges")
    return gate


def _unrooted(form: Expression, inputs: tuple[str, ...], roots: Roots) -> Expression:
    """Write a form over the nets that the stage itself reads, where each root is read by one net only."""
    back: dict[str, Literal] = {}
    for net in inputs:
        root, straight = roots.get(net, (net, True))
        if root in back:
            return form
        back[root] = (net, straight)
    return substitute(form, back)


def without(form: Expression, name: str) -> Expression:
    """Drop a series switch (the foot of a precharged gate) from a conjunction."""
    if isinstance(form, And):
        rest = tuple(t for t in form.terms if t not in (Var(name), Not(Var(name))))
        return rest[0] if len(rest) == 1 else And(rest)
    return form


def substitute(form: Expression, roots: Roots) -> Expression:
    """Write a form over root nets."""
    if isinstance(form, Const):
        return form
    if isinstance(form, Var):
        net, straight = roots.get(form.name, (form.name, True))
        return Var(net) if straight else Not(Var(net))
    if isinstance(form, Not):
        return complement(substitute(form.term, roots))
    return type(form)(tuple(substitute(t, roots) for t in form.terms))
