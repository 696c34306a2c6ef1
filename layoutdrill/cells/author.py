"""
Make a cell of what an author writes outside the library: equations, or a SPICE subcircuit.

Equations are built like the library's stages, in every logic style. A subcircuit is built as it stands, in the styles
that have its kinds of transistor. Its sizes belong to some other process, so they are kept in proportion: the
shortest channel becomes 2 λ (the usual channel of λ rules), everything else as many λ as it is in proportion to that,
and widths above 24 λ are folded into fingers.
"""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from layoutdrill.cells.compact import HIGH, LOW, MATERIALS, Device, Line, Passive
from layoutdrill.cells.entry import EVERYTHING
from layoutdrill.cells.model import Cell, Port, Role, Style
from layoutdrill.cells.stages import Stage
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.netlist.number import nanometres
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.simulate.expression import parse_equation, variables
from layoutdrill.simulate.supplies import Supplies, find_supplies, is_supply_label

_CHANNEL = 2
"""The shortest channel, in λ."""
_NARROWEST, _WIDEST = 4, 24
"""The least width of a transistor that is given one, and the greatest of one finger, in λ."""
_HAS = {
    Style.COMPLEMENTARY: {(Kind.N, Mode.ENHANCEMENT), (Kind.P, Mode.ENHANCEMENT)},
    Style.DEPLETION_LOAD: {(Kind.N, Mode.ENHANCEMENT), (Kind.N, Mode.DEPLETION)},
    Style.ENHANCEMENT_LOAD: {(Kind.P, Mode.ENHANCEMENT)},
    Style.ENHANCEMENT_LOAD_N: {(Kind.N, Mode.ENHANCEMENT)},
}


def cell_of_equations(text: str, where: Where | None = None) -> Cell:
    """
    Return the cell that `y = !(a*b + c)` says; several equations, such as `m = !(a*b); y = !m`, are several stages.

    What an equation gives and no other one reads is an output. Raises LayoutdrillError for text that is no equation.
    """
    place = where or Where("equation")
    stages: list[Stage] = []
    at = 0
    for part in text.split(";"):
        said, before = part.strip(), at
        at += len(part) + 1
        if not said:
            continue
        equation = parse_equation(" " * before + part, (), place)  # set in its place, for the columns of errors
        if not equation.name or any(equation.name == stage.output for stage in stages):
            raise LayoutdrillError(f"“{said}” names no output of its own", where=where, todo="write “y = !(a*b)”")
        for name in (equation.name, *variables(equation.expression)):
            if is_supply_label(name):
                what = f"“{name}” is a supply, and cannot be an output or input of a gate"
                raise LayoutdrillError(what, where=where or Where("equation", None, at - len(part)), todo="rename it")
        stages.append(Stage(equation.name, equation.expression, said, place))
    if not stages:
        raise LayoutdrillError("there is no equation", where=where, todo="write “y = !(a*b)”")
    made = [stage.output for stage in stages]
    read = list(dict.fromkeys(name for stage in stages for name in variables(stage.value)))
    late = [name for number, stage in enumerate(stages) for name in variables(stage.value) if name in made[number:]]
    if late:
        raise LayoutdrillError(f"“{late[0]}” has no value there yet", where=where, todo="write its equation before")
    inputs = [name for name in read if name not in made]
    outputs = [name for name in made if name not in read]
    ports = [Port(name, Role.INPUT) for name in inputs] + [Port(name, Role.OUTPUT) for name in outputs]
    return _cell(outputs[0], text.strip(), tuple(ports), place, stages=tuple(stages))


def cell_of_netlist(
    netlist: Netlist, where: Where | None = None, line_of: Callable[[str], Where] | None = None
) -> Cell:
    """
    Return a netlist as a cell. Its supplies are found by their names, or by structure; bodies are those of the process.

    `line_of` gives the place of a device in its file. Raises LayoutdrillError for kinds of transistor that no process
    has, for several supplies of one level, and for a gate that nothing drives.
    """
    place = where or Where("")
    if not netlist.transistors:
        raise LayoutdrillError(f"{netlist.name} has no transistors", where=where, todo="name another circuit")
    supplies = find_supplies(netlist)
    _one_rail_each(netlist, supplies, where)
    rails = dict.fromkeys(supplies.low, LOW) | dict.fromkeys(supplies.high, HIGH)
    shortest = min((t.length for t in netlist.transistors if t.length), default=0)
    devices = tuple(_device(t, rails, shortest) for t in netlist.transistors)
    passives = tuple(_passive(e, rails, shortest) for e in netlist.elements)
    kinds = {(device.kind, device.mode) for device in devices}
    styles = [style for style, has in _HAS.items() if kinds <= has]
    if not styles:
        sorts = " and ".join(sorted(f"{kind} {mode}" for kind, mode in kinds))
        raise LayoutdrillError(f"no process has {sorts} transistors together", where=where, todo="check the models")
    driven = {end for device in devices for end in device.ends} | {end for part in passives for end in part.ends}
    gates = {device.gate for device in devices}
    for t in netlist.transistors:
        gate = rails.get(t.gate, t.gate)
        if gate not in driven and t.gate not in netlist.ports and t.gate not in rails:
            what = f"net {t.gate}, the gate of {t.name}, is driven by nothing"
            at = where if line_of is None else line_of(t.name)
            raise LayoutdrillError(what, where=at, todo="join it to what drives it, or make it a port")
    ports = [
        Port(net, Role.OUTPUT if net in driven else Role.INPUT)
        for net in netlist.ports
        if net not in rails and net in driven | gates
    ]
    return _cell(netlist.name, "", tuple(ports), place, netlists=dict.fromkeys(styles, (*devices, *passives)))


def _one_rail_each(netlist: Netlist, supplies: Supplies, where: Where | None) -> None:
    """Refuse several supplies of one level: a drawing has one rail for each, and would join them."""
    used = {net for t in netlist.transistors for net in (t.gate, *t.ends)}
    used |= {net for element in netlist.elements for net in element.nodes}
    for level, nets in (("high", supplies.high & used), ("low", supplies.low & used)):
        if len(nets) > 1:
            what = f"{' and '.join(sorted(nets))} are supplies of their own, and a drawing has one {level} rail"
            raise LayoutdrillError(what, where=where, todo="draw the parts apart, or give the nets one name")


def _device(t: Transistor, rails: dict[str, str], shortest: int) -> Device:
    """Return a transistor with its size in λ, for a shortest channel in nm; none where it tells none."""
    ends = rails.get(t.source, t.source), rails.get(t.drain, t.drain)
    device = Device(t.kind, t.mode, rails.get(t.gate, t.gate), ends, fingers=t.fingers)
    if not (t.length and t.width):
        return device
    channel = Fraction(_CHANNEL * t.length, shortest)
    finger = Fraction(_CHANNEL * t.width, shortest * t.fingers)
    if finger < _NARROWEST:  # a weak transistor stays as weak: what cannot be narrower is longer
        channel, finger = channel * _NARROWEST / finger, Fraction(_NARROWEST)
    length, width = round(channel), round(finger)
    folds = -(-width // _WIDEST)
    width = max(_NARROWEST, round(Fraction(width, folds)))
    return replace(device, length=length, width=width * folds * t.fingers, fingers=folds * t.fingers)


def _passive(e: Element, rails: dict[str, str], shortest: int) -> Passive:
    """Return a resistor, capacitor or diode with its drawn size in λ; none where it is written as a value alone."""
    first, second = (rails.get(node, node) for node in e.nodes)
    values = dict(e.values)
    sizes = [nanometres(values[key]) or 0 if key in values else 0 for key in ("L", "W")]
    length, width = (round(Fraction(_CHANNEL * size, shortest)) if shortest else 0 for size in sizes)
    return Passive(e.kind, (first, second), length, width, e.model if e.model in MATERIALS else "")


def _cell(name: str, title: str, ports: tuple[Port, ...], where: Where, *, stages: tuple[Stage, ...] = (),
          netlists: dict[Style, tuple[Line, ...]] | None = None) -> Cell:  # fmt: skip
    return Cell(
        name=name,
        title=title or name,
        family="of an author",
        structure="",
        aliases=(),
        ports=ports,
        function=stages if len(stages) == 1 else (),
        does="",
        stages=stages,
        netlists=netlists or {},
        boundary=EVERYTHING,
        look_for="",
        mistaken_for=(),
        only=(),
        where=where,
    )
