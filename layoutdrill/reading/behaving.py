"""
Find out what a netlist does, within a bound of work: what its stores take, tables, and what is told in equations.

Every equation of logic is held against the simulator on some rows before it is told; what a store takes, on a run of
changes. What does not agree, or would take too long, is told as not worked out.
"""

from collections.abc import Sequence
from dataclasses import replace

from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.apart import MOST_TOLD, Told, store_words, stores_apart
from layoutdrill.reading.equations import MOST_INPUTS, Allowance, beside_stores, disagrees, equations, inputs_of
from layoutdrill.reading.running import holds
from layoutdrill.reading.unconfirmed import without_equation
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.model import Recognition
from layoutdrill.recognise.view import View
from layoutdrill.simulate.drops import drops
from layoutdrill.simulate.effort import OutOfEffortError, timed
from layoutdrill.simulate.expression import text
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.states import Behaviour, Memory, behaviour, edge_test, input_rows
from layoutdrill.simulate.table import MOST_INPUTS as MOST_TABLE
from layoutdrill.simulate.table import Row, Table, table
from layoutdrill.value import value

SECONDS, FIRST = 1.2, 0.7
"""
So long is worked on what a netlist does, unless more is asked for, and this share of it on the whole; the rest of two
seconds is for reading it.
"""
MOST_ROWS = 96
"""So many rows of tables of single outputs are told."""
_STATEFUL = ("cross-coupled inverters", "static RAM cell", "dynamic RAM cell", "SR latch", "gated SR latch",
             "marker", "C-element", "ring oscillator", "RC oscillator", "crystal oscillator", "arbiter")  # fmt: skip


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
            done = replace(done, functions=beside_stores(view, recognition, done.stores, allowed))
    words = tuple(without_equation(recognition, done.functions, done.stores, allowed.unconfirmed, allowed.undone))
    return replace(done, undone=(*done.undone, *allowed.undone), unconfirmed=words)


def _simulated(recognition: Recognition, outputs: list[str], allowed: Allowance) -> Doings | None:
    """Return what the simulator shows of the whole, or of its stores one by one; None where that would not do."""
    netlist = recognition.netlist
    inputs = inputs_of(recognition)
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


def _stateful(recognition: Recognition) -> bool:
    return sum(s.term in _STATEFUL for s in recognition.all()) > 1


def _leave_outputs(recognition: Recognition, outputs: list[str], functions: Sequence[str], allowed: Allowance) -> None:
    """Note the outputs of which no equation is told as not worked out as a whole."""
    worked = {f.split(" = ")[0].split(" ")[0] for f in functions}
    missing = [o for o in outputs if o not in worked and o not in allowed.unconfirmed]
    if missing:
        count = len(inputs_of(recognition))
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


def output_tables(view: View, recognition: Recognition, allowed: Allowance) -> tuple[Table, ...]:
    """Return tables of the outputs that see few enough inputs, each over those; outputs that see the same share one."""
    cones = Cones(view)
    inputs = set(inputs_of(recognition))
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
            if not disagrees(recognition, net, list(leaves), cones):
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
