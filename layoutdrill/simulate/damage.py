"""Try what a damaged or misread circuit would do: cut, shorted, removed or stuck, against the circuit as it is."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean, plural
from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.simulate.stimulus import Step, Stimulus
from layoutdrill.simulate.supplies import find_supplies
from layoutdrill.simulate.trace import Seen, Trace, run
from layoutdrill.value import value


@value
class Damage:
    """
    What is wrong with a circuit, all of it at once.

    `cuts`: a net alone is cut between what drives it and all gates on it; with a device, that device alone loses it.
    `shorts` join two nets, `removed` devices are not there, `stuck` nets are held at 0 or 1 whatever drives them.
    """

    cuts: tuple[str, ...] = ()
    shorts: tuple[tuple[str, str], ...] = ()
    removed: tuple[str, ...] = ()
    stuck: tuple[tuple[str, str], ...] = ()

    @property
    def words(self) -> str:
        parts = [f"{cut} cut" for cut in self.cuts]
        parts += [f"{a} and {b} shorted" for a, b in self.shorts]
        parts += [f"{name} removed" for name in self.removed]
        parts += [f"{net} stuck at {level}" for net, level in self.stuck]
        return ", ".join(parts)


@value
class Change:
    """
    An output against that of the whole circuit: the first step that must differ and that may, and how many do.

    `where` is the vector of that step, None where no step differs.
    """

    net: str
    surely: int | None
    maybe: int | None
    whole: str
    damaged: str
    count: int
    where: Where | None


def what_if(netlist: Netlist, stimulus: Stimulus, damage: Damage) -> tuple[Trace, Trace, tuple[Change, ...]]:
    """Run the stimulus on the circuit and on the damaged one; return both runs and how each watched net changes."""
    good = run(netlist, stimulus)
    other, driven, names = apply(netlist, stimulus, damage)
    watched = tuple(dict.fromkeys(names.get(net, net) for net in good.watched))
    bad = run(other, driven, watched)
    changes = tuple(_change(net, names.get(net, net), good, bad) for net in good.watched)
    return good, bad, changes


def apply(netlist: Netlist, stimulus: Stimulus, damage: Damage) -> tuple[Netlist, Stimulus, Mapping[str, str]]:
    """
    Return the damaged netlist, the stimulus for it, and the names that nets have lost to those they are shorted to.

    Raises LayoutdrillError for a net or device that is not there, and where two nets are shorted that are both held
    from outside.
    """
    rails = find_supplies(netlist, stimulus.supplies)
    outside = {*stimulus.inputs, *rails.nets}
    changed = _without(netlist, damage.removed)
    for cut in damage.cuts:
        changed = _cut(changed, cut)
    names: dict[str, str] = {}
    for pair in damage.shorts:
        first, second = (names.get(net, net) for net in (_net(netlist, name) for name in pair))
        if first == second:
            continue
        if first in outside and second in outside:
            raise LayoutdrillError(
                f"{pair[0]} and {pair[1]} are both held from outside",
                todo="short a net that the circuit drives itself",
            )
        keep, lose = (
            (second, first)
            if second in outside or (second in netlist.ports and first not in outside)
            else (first, second)
        )
        changed = _renamed(changed, {lose: keep})
        names = {net: keep if name == lose else name for net, name in names.items()} | {lose: keep}
    held = {names.get(_net(netlist, net), net): level for net, level in damage.stuck}
    there = set(changed.nets)
    steps = []
    for at, step in enumerate(stimulus.steps):
        levels = {names.get(net, net): level for net, level in step.levels.items()}
        levels = {net: level for net, level in levels.items() if net not in held and net in there}
        steps.append(Step({**levels, **({} if at else held)}, {}, step.where))
    supplies = {**dict.fromkeys(rails.high, 1), **dict.fromkeys(rails.low, 0)}
    kept = {net: level for net, level in supplies.items() if net in changed.nets and net not in held}
    inputs = tuple(dict.fromkeys(net for step in steps for net in step.levels))
    driven = replace(stimulus, inputs=inputs, steps=tuple(steps), supplies=kept, watch=())
    return changed, driven, names


def changes_text(damage: Damage, changes: Sequence[Change], steps: int) -> str:
    """Return what differs, a line an output, those that show it first."""
    lines = [f"what if: {damage.words}"]
    order = sorted(changes, key=lambda c: (c.surely is None, c.surely or 0, c.maybe is None, c.maybe or 0))
    for change in order:
        often = f"{change.count} of {plural(steps, 'step')}"
        if change.surely is not None:
            lines.append(
                f"  {change.net}: differs first in step {change.surely} ({change.whole} → {change.damaged}), in {often}"
                f"{_vector(change)}"
            )
        elif change.maybe is not None:
            lines.append(
                f"  {change.net}: may differ, first in step {change.maybe} "
                f"({change.whole} → {change.damaged}), in {often}{_vector(change)}"
            )
    same = [change.net for change in changes if change.surely is None and change.maybe is None]
    if len(same) == len(changes):
        lines.append("  nothing that is watched differs: these vectors do not show it")
    elif same:
        lines.append(f"  the same throughout: {', '.join(same)}")
    return "\n".join(lines) + "\n"


def _vector(change: Change) -> str:
    where = change.where
    return f" (line {where.line} of the stimulus)" if where is not None and where.line is not None else ""


def _change(net: str, other: str, good: Trace, bad: Trace) -> Change:
    surely = maybe = None
    count = 0
    for at, (row, changed) in enumerate(zip(good.rows, bad.rows, strict=True)):
        before, after = row[net], changed[other]
        if before.sign == after.sign:
            continue
        count += 1
        if maybe is None:
            maybe = at
        if surely is None and _apart(before, after):
            surely = at
    first = surely if surely is not None else maybe
    whole, damaged = (good.rows[first][net].sign, bad.rows[first][other].sign) if first is not None else ("", "")
    where = good.stimulus.steps[first].where if first is not None else None
    return Change(net, surely, maybe, whole, damaged, count, where)


def _apart(before: Seen, after: Seen) -> bool:
    """Tell whether a tester would see two levels apart: 0 against 1, whatever holds them."""
    return before.level.known and after.level.known and before.level is not after.level


def _net(netlist: Netlist, name: str) -> str:
    if name in netlist.nets:
        return name
    net_named = next((net for net in netlist.nets if net.lower() == name.lower()), None)
    if net_named is None:
        raise LayoutdrillError(f'no net "{name}" in {netlist.name}', todo=did_you_mean(name, netlist.nets))
    return net_named


def _device(netlist: Netlist, name: str) -> str:
    names = [t.name for t in netlist.transistors] + [e.name for e in netlist.elements]
    device_named = next((each for each in names if each.lower() == name.lower()), None)
    if device_named is None:
        raise LayoutdrillError(f'no device "{name}" in {netlist.name}', todo=did_you_mean(name, names))
    return device_named


def _without(netlist: Netlist, names: Iterable[str]) -> Netlist:
    gone = {_device(netlist, name) for name in names}
    return replace(
        netlist,
        transistors=tuple(t for t in netlist.transistors if t.name not in gone),
        elements=tuple(e for e in netlist.elements if e.name not in gone),
    )


def _renamed(netlist: Netlist, names: dict[str, str]) -> Netlist:
    return replace(
        netlist,
        ports=tuple(port for port in netlist.ports if port not in names),
        transistors=tuple(t.renamed(names) for t in netlist.transistors),
        elements=tuple(e.renamed(names) for e in netlist.elements),
    )


def _cut(netlist: Netlist, cut: str) -> Netlist:
    """Move the far side of a cut to a net of its own, which nothing else is on."""
    name, colon, device = cut.rpartition(":") if ":" in cut and cut not in netlist.nets else (cut, "", "")
    net = _net(netlist, name)
    far = f"{net}~cut"
    while far in netlist.nets:
        far += "'"
    if not colon:
        readers = tuple(replace(t, gate=far) if t.gate == net else t for t in netlist.transistors)
        if readers == netlist.transistors:
            raise LayoutdrillError(f"no gate is on {net}", todo=f"say which device loses it, such as {net}:M1")
        return replace(netlist, transistors=readers)
    wanted = _device(netlist, device)

    def moved(part: Transistor) -> Transistor:
        return part.renamed({net: far}) if part.name == wanted else part

    def moved_element(part: Element) -> Element:
        return part.renamed({net: far}) if part.name == wanted else part

    changed = replace(
        netlist,
        transistors=tuple(moved(t) for t in netlist.transistors),
        elements=tuple(moved_element(e) for e in netlist.elements),
    )
    if changed == netlist:
        raise LayoutdrillError(f"{wanted} is not on {net}", todo="name a device that is")
    return changed
