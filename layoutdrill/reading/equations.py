"""
Tell equations an output at a time, each over the nets that its cone ends at, within a bound of work.

Every equation over inputs alone is held against the simulator on some rows before it is told.
"""

from collections.abc import Sequence

from layoutdrill.dice import Dice
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.apart import Told
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.model import Recognition
from layoutdrill.recognise.view import View
from layoutdrill.simulate.effort import OutOfEffortError
from layoutdrill.simulate.expression import Expression, text, truth, variables
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.states import input_rows
from layoutdrill.simulate.table import MOST_INPUTS as MOST_TABLE
from layoutdrill.value import mutable

MOST_INPUTS = 8
ROWS_TRIED = 12
LONGEST = 72
"""An equation of more characters is told over the nets between."""
MOST_STEPS = 12
"""An equation of more steps, each over nets between that have no name of their own, is told where asked for."""
MOST_EQUATIONS = 40
LARGEST = 400
"""Netlists of more transistors are not simulated as a whole."""
WORK = 40_000
"""Rows of inputs times transistors that fit into the time."""
_STORES = ("register bit", "latch", "dynamic latch", "shift-register bit")


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


def inputs_of(recognition: Recognition) -> list[str]:
    """Return the ports that drive a circuit, whatever for."""
    return [p.net for p in recognition.ports if p.role not in (Role.OUTPUT, Role.SUPPLY, Role.UNUSED)]


def equations(view: View, recognition: Recognition, allowed: Allowance) -> tuple[str, ...]:
    """
    Return equations of the outputs, and of what stores take, each over the nets that its cone ends at.

    A long one is told over the outputs of the parts behind it, each of which is told once, or where there are no parts
    gate by gate. Those over inputs alone are tried on the simulator first; one that does not agree is noted as
    unconfirmed instead.
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


def beside_stores(view: View, recognition: Recognition, stores: Sequence[Told], allowed: Allowance) -> tuple[str, ...]:
    """Return equations of the outputs that hang on inputs alone, whatever is stored elsewhere."""
    cones, inputs = Cones(view), set(inputs_of(recognition))
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
    if len(leaves) <= MOST_TABLE and (odd := disagrees(recognition, net, leaves, cones)):
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


def _stepwise(cones: Cones, root: str, lines: dict[str, str], allowed: Allowance) -> None:
    """Tell a root net gate by gate over the nets between, from the inputs on."""
    forms: dict[str, Expression] = {}
    front = [root]
    seen = set(front)
    for here in front:
        form = cones.form(here)
        if form is None:
            continue
        forms[here] = form
        for n in variables(form):
            if n not in seen:
                seen.add(n)
                front.append(n)
    order = [here for here in forms if here not in lines]
    if len(order) > MOST_STEPS and not allowed.endless:
        allowed.undone.append(f"the equation of {root}, of {len(order)} steps")
        return
    for here in reversed(order):
        form = forms[here]
        names = variables(form)
        if len(names) <= MOST_INPUTS:
            form = minimal(truth(form, names), names)
        if len(lines) < allowed.equations:
            lines[here] = f"{here} = {text(form)}"


def disagrees(recognition: Recognition, net: str, leaves: list[str], cones: Cones) -> str:
    """
    Return for which inputs the simulator, on some rows, gives another level than a net's cone says; "" for none.

    Where other nets than inputs decide, or the circuit is large, nothing is simulated.
    """
    netlist = recognition.netlist
    inputs = inputs_of(recognition)
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
