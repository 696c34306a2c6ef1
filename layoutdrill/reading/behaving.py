"""
Find out what a netlist does, within a bound of work: equations an output at a time, tables, what its stores take.

Every equation of logic is held against the simulator on some rows before it is told; what a store takes, on a run of
changes. What does not agree, or would take too long, is told as not worked out.
"""

from collections.abc import Sequence
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.apart import MOST_TOLD, Told, store_words, stores_apart
from layoutdrill.reading.running import holds
from layoutdrill.reading.unconfirmed import without_equation
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.model import Recognition
from layoutdrill.recognise.view import View
from layoutdrill.simulate.drops import drops
from layoutdrill.simulate.effort import OutOfEffortError, timed
from layoutdrill.simulate.expression import text, truth, variables
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.states import Behaviour, Memory, behaviour, edge_test, input_rows
from layoutdrill.simulate.table import MOST_INPUTS as MOST_TABLE
from layoutdrill.simulate.table import Row, Table, table
from layoutdrill.value import mutable, value

MOST_INPUTS = 8
SECONDS, FIRST = 1.2, 0.7
"""
So long is worked on what a netlist does, unless more is asked for, and this share of it on the whole; the rest of two
seconds is for reading it.
"""
ROWS_TRIED = 12
LONGEST = 72
"""An equation of more characters is told over the nets between."""
MOST_STEPS = 12
"""An equation of more steps, each over nets between that have no name of their own, is told where asked for."""
MOST_EQUATIONS = 40
MOST_ROWS = 96
"""So many rows of tables of single outputs are told."""
LARGEST = 400
"""Netlists of more transistors are not simulated as a whole."""
WORK = 40_000
"""Rows of inputs times transistors that fit into the time."""
_STORES = ("register bit", "latch", "dynamic latch", "shift-register bit")
_STATEFUL = ("cross-coupled inverters", "static RAM cell", "dynamic RAM cell", "SR latch", "gated SR latch",
             "marker", "C-element", "ring oscillator", "RC oscillator", "crystal oscillator", "arbiter")  # fmt: skip


@mutable
class Allowance:
    """Whether there is an end to the time, and what was not worked out for want of it or `unconfirmed`."""

    endless: bool
    undone: list[str]
    unconfirmed: dict[str, str]

    @property
    def equations(self) -> float:
        """How many equations are told."""
        return float("inf") if self.endless else MOST_EQUATIONS

    def fits(self, work: int) -> bool:
        """Tell whether so much work (rows times transistors) may be begun."""
        return self.endless or work <= WORK


@value
class Doings:
    """What a netlist does; see `Explanation` for the fields."""

    functions: tuple[str, ...] = ()
    behaviour: Behaviour | None = None
    stores: tuple[Told, ...] = ()
    table: Table | None = None
    poor: tuple[str, ...] = ()
    apart: int | None = None
    remarks: tuple[str, ...] = ()
    undone: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    unconfirmed: tuple[str, ...] = ()


def doings(view: View, recognition: Recognition, seconds: float | None = SECONDS) -> Doings:
    """Return what a netlist does, as far as the seconds of processor time go; None for as long as it takes."""
    outputs = list(recognition.nets(Role.OUTPUT))
    if not outputs or not recognition.netlist.transistors:
        return Doings(unconfirmed=tuple(without_equation(recognition, (), (), {}, ())))
    allowed = Allowance(seconds is None, [], {})
    first, rest = (None, None) if seconds is None else (seconds * FIRST, seconds * (1 - FIRST))
    done: Doings | None = None
    try:
        with timed(first):
            done = _simulated(recognition, outputs, allowed)
    except OutOfEffortError:
        allowed.undone.append(f"what {_told(outputs)} do as a whole (a table would take too long)")
    if done is None or done.apart is not None:
        with timed(rest):
            functions = equations(view, recognition, allowed)
            tables = () if done is not None or _stateful(recognition) else output_tables(view, recognition, allowed)
        done = replace(done or Doings(), functions=functions, tables=tables)
        if done.apart is None and not allowed.undone:
            _leave_outputs(recognition, outputs, functions, allowed)
    elif done.behaviour is not None and done.behaviour.memory is Memory.STATEFUL:
        with timed(rest):
            done = replace(done, functions=_beside_stores(view, recognition, done.stores, allowed))
    words = tuple(without_equation(recognition, done.functions, done.stores, allowed.unconfirmed, allowed.undone))
    return replace(done, undone=(*done.undone, *allowed.undone), unconfirmed=words)


def _simulated(recognition: Recognition, outputs: list[str], allowed: Allowance) -> Doings | None:
    """Return what the simulator shows of the whole, or of its stores one by one; None where that would not do."""
    netlist = recognition.netlist
    inputs = _inputs(recognition)
    given = set(inputs)
    tied = {p.net: p.complement_of for p in recognition.ports if p.net in given and p.complement_of in given}
    apart = stores_apart(recognition)
    if apart is not None:
        rest = f"; {apart.more} more were not" if apart.more else ""
        if apart.more and len(apart.stores) < MOST_TOLD:
            allowed.undone.append(f"what {apart.more} of the stores take")
        remarks = (f"the stores were simulated one by one{rest}",)
        return Doings((), apart.behaviour, apart.stores, apart=apart.more, remarks=remarks)
    free = len(inputs) - len(tied)
    too_many = free > (MOST_TABLE if allowed.endless else MOST_INPUTS)
    if too_many or _stateful(recognition) or not allowed.fits((1 << min(free, 9)) * len(netlist.transistors)):
        return None
    return _whole(recognition, inputs, outputs, tied, allowed)


def _inputs(recognition: Recognition) -> list[str]:
    return [p.net for p in recognition.ports if p.role not in (Role.OUTPUT, Role.SUPPLY, Role.UNUSED)]


def _stateful(recognition: Recognition) -> bool:
    return sum(s.term in _STATEFUL for s in recognition.all()) > 1


def _leave_outputs(recognition: Recognition, outputs: list[str], functions: Sequence[str], allowed: Allowance) -> None:
    """Note the outputs of which no equation is told as not worked out as a whole."""
    worked = {f.split(" = ")[0].split(" ")[0] for f in functions}
    missing = [o for o in outputs if o not in worked and o not in allowed.unconfirmed]
    if missing:
        count = len(_inputs(recognition))
        why = "a table would take too long" if count <= MOST_INPUTS else f"a table of {count} inputs"
        why = "several stores together" if _stateful(recognition) and allowed.endless else why
        allowed.undone.append(f"what {_told(missing)} do as a whole ({why})")


def _told(nets: Sequence[str]) -> str:
    return ", ".join(nets[:6]) + (f" and {len(nets) - 6} more" if len(nets) > 6 else "")


def _whole(
    recognition: Recognition, inputs: list[str], outputs: list[str], tied: dict[str, str],
    allowed: Allowance,
) -> Doings:  # fmt: skip
    netlist, supplies = recognition.netlist, recognition.supplies
    behaved = behaviour(netlist, inputs, outputs, supplies, tied)
    if behaved.memory is Memory.STATEFUL:
        stores: list[Told] = []
        try:
            for store in edge_test(netlist, inputs, outputs, supplies, tied):
                words = store_words(netlist, inputs, store, supplies, tied)
                agrees = holds(netlist, inputs, (store, *words), tied, supplies)
                stores.append((store, *words) if agrees else (store, "", ""))
        except OutOfEffortError:
            allowed.undone.append("what its stores take")
        return Doings(behaviour=behaved, stores=tuple(stores))
    seen = _table(netlist, inputs, outputs, recognition, tied)
    functions = tuple(equation for output in outputs if (equation := _equation(seen, output)))
    poor = _poor(netlist, inputs, outputs, recognition, tied, allowed)
    return Doings(functions, behaved, table=seen, poor=poor)


def equations(view: View, recognition: Recognition, allowed: Allowance) -> tuple[str, ...]:
    """
    Return equations of the outputs, and of what stores take, each over the nets that its cone ends at.

    A long one is told over the outputs of the parts behind it, each of which is told once, or where there are no parts
    gate by gate. Those over inputs alone are
    tried on the simulator first; one that does not agree is noted as unconfirmed instead.
    """
    cones = Cones(view)
    ports = set(recognition.netlist.ports)
    wanted = [p.net for p in recognition.ports if p.role is Role.OUTPUT]
    stores = [s for s in recognition.all() if s.term in _STORES]
    wanted += [n for s in stores for n in s.nets(Role.DATA) if n not in ports]
    lines: dict[str, str] = {}
    for net in dict.fromkeys(wanted):
        if len(lines) >= allowed.equations:
            allowed.undone.append(f"equations past the first {MOST_EQUATIONS}")
            break
        try:
            _tell_equation(view, recognition, cones, net, lines, allowed)
        except OutOfEffortError:
            allowed.undone.append(f"the equation of {net} and of those after it")
            break
    return tuple(lines.values())


def _beside_stores(view: View, recognition: Recognition, stores: Sequence[Told], allowed: Allowance) -> tuple[str, ...]:
    """Return equations of the outputs that hang on inputs alone, whatever is stored elsewhere."""
    cones, inputs = Cones(view), set(_inputs(recognition))
    lines: dict[str, str] = {}
    for net in sorted(
        set(recognition.nets(Role.OUTPUT)) - {s.output for s, _, _ in stores}, key=view.place.__getitem__
    ):
        try:
            if net in inputs or not inputs.issuperset(cones.leaves(net)) or cones.form(view.root(net)[0]) is None:
                continue
            _tell_equation(view, recognition, cones, net, lines, allowed)
        except OutOfEffortError:
            allowed.undone.append(f"the equation of {net} and of those after it")
            break
    return tuple(lines.values())


def _tell_equation(
    view: View, recognition: Recognition, cones: Cones, net: str, lines: dict[str, str], allowed: Allowance
) -> None:
    root, straight = view.root(net)
    if cones.form(root) is None:
        if root != net and root not in view.prepared.supplies.nets:
            lines.setdefault(net, f"{net} = {'' if straight else '!'}{root}")
        return
    leaves = sorted(cones.leaves(net), key=view.place.__getitem__)
    if len(leaves) <= MOST_TABLE and (odd := _disagrees(recognition, net, leaves, cones)):
        allowed.unconfirmed[net] = odd
        return
    if len(leaves) <= MOST_INPUTS:
        short = text(minimal(cones.table(net, leaves), leaves))
        if len(short) <= LONGEST:
            lines.setdefault(net, f"{net} = {short}")
            return
    _partwise(view, _part_outputs(view, recognition), net, lines, allowed)


def _part_outputs(view: View, recognition: Recognition) -> frozenset[str]:
    """Return what the outermost structures and their parts put out, plain gates aside."""
    parts = [p for s in recognition.structures for p in (s, *s.parts) if p.parts]
    return frozenset(view.root(n)[0] for p in parts for n in p.nets(Role.OUTPUT))


def _partwise(view: View, stops: frozenset[str], net: str, lines: dict[str, str], allowed: Allowance) -> None:
    """Tell a net over the outputs of parts behind it, and these over those behind them, from the inputs on."""
    root, straight = view.root(net)
    steps: list[tuple[str, str, Cones]] = []
    front = [root]
    seen = set(front)
    for here in front:
        cones = Cones(view, stops, top=here)
        if here in lines or cones.form(here) is None:
            continue
        leaves = sorted(cones.leaves(here), key=view.place.__getitem__)
        short = text(minimal(cones.table(here, leaves), leaves)) if len(leaves) <= MOST_INPUTS else ""
        steps.append((here, short if len(short) <= LONGEST else "", cones))
        front += [n for n in leaves if n not in seen]
        seen.update(leaves)
    for here, short, cones in reversed(steps):
        if not short:
            _stepwise(cones, here, lines, allowed)
        elif len(lines) < allowed.equations:
            lines[here] = f"{here} = {short}"
    if net != root and root in lines:
        lines.setdefault(net, f"{net} = {'' if straight else '!'}{root}")


def output_tables(view: View, recognition: Recognition, allowed: Allowance) -> tuple[Table, ...]:
    """Return tables of the outputs that see few enough inputs, each over those; outputs that see the same share one."""
    cones = Cones(view)
    inputs = set(_inputs(recognition))
    shared: dict[tuple[str, ...], list[str]] = {}
    most = MOST_TABLE if allowed.endless else MOST_INPUTS
    rows = 0
    for net in (p.net for p in recognition.ports if p.role is Role.OUTPUT):
        try:
            leaves = tuple(sorted(cones.leaves(net), key=view.place.__getitem__))
            if not 0 < len(leaves) <= most or not inputs.issuperset(leaves) or cones.form(view.root(net)[0]) is None:
                continue
            more = 0 if leaves in shared else 1 << len(leaves)
            if rows + more > MOST_ROWS and not allowed.endless:
                allowed.undone.append(f"the table of {net} and those after it")
                break
            if not _disagrees(recognition, net, list(leaves), cones):
                rows += more
                shared.setdefault(leaves, []).append(net)
        except OutOfEffortError:
            allowed.undone.append(f"the table of {net} and those after it")
            break
    tables: list[Table] = []
    for leaves, nets in shared.items():
        try:
            tables.append(_of_cones(leaves, nets, cones))
        except OutOfEffortError:
            allowed.undone.append(f"the table of {nets[0]} and those after it")
            break
    return tuple(tables)


def _of_cones(leaves: tuple[str, ...], nets: Sequence[str], cones: Cones) -> Table:
    masks = [cones.table(net, leaves) for net in nets]
    count = len(leaves)
    rows = [
        Row(
            tuple(r >> (count - 1 - at) & 1 for at in range(count)),
            tuple(Level.HIGH if mask >> r & 1 else Level.LOW for mask in masks),
        )
        for r in range(1 << count)
    ]
    return Table(leaves, tuple(nets), tuple(rows))


def _stepwise(cones: Cones, root: str, lines: dict[str, str], allowed: Allowance) -> None:
    """Tell a root net gate by gate over the nets between, from the inputs on."""
    order: list[str] = []
    front = [root]
    seen = set(front)
    for here in front:
        form = cones.form(here)
        if form is None:
            continue
        order.append(here)
        for n in variables(form):
            if n not in seen:
                seen.add(n)
                front.append(n)
    order = [here for here in order if here not in lines]
    if len(order) > MOST_STEPS and not allowed.endless:
        allowed.undone.append(f"the equation of {root}, of {len(order)} steps")
        return
    for here in reversed(order):
        form = cones.form(here)
        if form is None:
            continue
        names = variables(form)
        if len(names) <= MOST_INPUTS:
            form = minimal(truth(form, names), names)
        if len(lines) < allowed.equations:
            lines[here] = f"{here} = {text(form)}"


def _disagrees(recognition: Recognition, net: str, leaves: list[str], cones: Cones) -> str:
    """
    Return for which inputs the simulator, on some rows, gives another level than a net's cone says; "" for none.

    Where other nets than inputs decide, or the circuit is large, nothing is simulated.
    """
    netlist = recognition.netlist
    inputs = _inputs(recognition)
    if not set(inputs) & set(netlist.ports) >= set(leaves) or len(netlist.transistors) > LARGEST:
        return ""
    ones = cones.table(net, leaves)
    dice = Dice(len(leaves))
    for row in input_rows(leaves, None, ROWS_TRIED):
        given = {n: row.get(n, dice.below(2)) for n in inputs}
        level = settle(netlist, given, recognition.supplies).level(net)
        at = int("0" + "".join(str(row[n]) for n in leaves), 2)
        if level.known and (level is Level.HIGH) != bool(ones >> at & 1):
            return ", ".join(f"{n}={value}" for n, value in row.items())
    return ""


def _table(
    netlist: Netlist, inputs: list[str], outputs: list[str], recognition: Recognition, tied: dict[str, str]
) -> Table:
    """Return the table over the inputs that are free; complements move with what they are the complement of."""
    whole = table(netlist, inputs, outputs, recognition.supplies)
    if not tied:
        return whole
    keep = [i for i in inputs if i not in tied]
    at = {net: i for i, net in enumerate(inputs)}
    rows = [r for r in whole.rows if all(r.inputs[at[b]] != r.inputs[at[a]] for b, a in tied.items())]
    short = sorted((Row(tuple(r.inputs[at[i]] for i in keep), r.outputs) for r in rows), key=lambda r: r.inputs)
    return Table(tuple(keep), tuple(outputs), tuple(short))


def _equation(seen: Table, output: str) -> str:
    levels = seen.column(output)
    ones = sum(1 << r for r, level in enumerate(levels) if level is Level.HIGH)
    free = sum(1 << r for r, level in enumerate(levels) if not level.known)
    floating = sum(1 << r for r, level in enumerate(levels) if level is Level.FLOATING)
    if all(not level.known for level in levels):
        return ""
    form = f"{output} = {text(minimal(ones, seen.inputs, free))}"
    full = (1 << len(levels)) - 1
    if floating:
        form += f" while {text(minimal(full & ~floating, seen.inputs))}, else floating"
    fights = [level for level in levels if level in (Level.FIGHT, Level.UNKNOWN)]
    if fights:
        form += f" ({len(fights)} of {len(levels)} rows are not definite)"
    return form


def _poor(
    netlist: Netlist, inputs: list[str], outputs: list[str], recognition: Recognition, tied: dict[str, str],
    allowed: Allowance,
) -> tuple[str, ...]:  # fmt: skip
    """Say which outputs stop short of their rail, and for which level."""
    worst: dict[tuple[str, Level], int] = {}
    try:
        for row in input_rows(inputs, tied, 64):
            state = settle(netlist, row, recognition.supplies)
            for net, lost in drops(state).items():
                if net in outputs:
                    key = (net, state.level(net))
                    worst[key] = max(worst.get(key, 0), lost)
    except OutOfEffortError:
        allowed.undone.append("which outputs stop short of their rails")
        return ()
    return tuple(
        f"{net} stays {lost} threshold{'s' if lost > 1 else ''} short of a full {level}"
        for (net, level), lost in sorted(worst.items())
    )
