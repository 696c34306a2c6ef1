"""
Read a stimulus: what is put on a circuit's inputs step by step, and what its outputs are expected to do.

As YAML:

    step: 500ns                # how long a step lasts; only waveform files use it (1us)
    supplies: {V1: 1, V2: 0}   # where names do not tell; 1 is the more positive
    groups: {count: [q2, q1, q0]}
    clocks: {phi1: "0100", phi2: "0001"}     # levels step by step, begun again at the end
    start: {d: 0}              # before the first vector
    vectors:
      - {reset: 1}             # each holds for a step; what is not named keeps its level
      - set: {reset: 0, d: 1}
        for: 4                 # steps
        expect: {q: 1}         # at the end of the last of them
      - {bus: Z}               # Z lets go of a net, X makes it unknown
    steps: 20                  # where the clocks go on after the last vector
    watch: [q, count]          # what is shown besides the inputs; else the other ports

A group takes a number or as many levels, first net first. As CSV: a row a step, a column a net, its name above; an
empty field keeps the level; columns named `q?` hold what is expected of q.
"""

import csv
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean, plural
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.number import number
from layoutdrill.value import value
from layoutdrill.yamldoc import Node, load

MOST_STEPS = 100_000
LEVELS = ("0", "1", "X", "Z")
_HOLDS = {"set", "for", "expect"}


@value
class Step:
    """The levels that are put on nets at one step (0, 1, X or Z), and those expected of nets when it has settled."""

    levels: Mapping[str, str]
    expected: Mapping[str, str]
    where: Where


@value
class Stimulus:
    """
    The steps, in order; `inputs` are the nets that any step drives, in the order that they are first named.

    `step_ns` is how long a step lasts. `supplies` is None where the netlist's own names tell them.
    """

    inputs: tuple[str, ...]
    steps: tuple[Step, ...]
    watch: tuple[str, ...]
    groups: Mapping[str, tuple[str, ...]]
    supplies: Mapping[str, int] | None
    step_ns: int

    @property
    def expects(self) -> bool:
        return any(step.expected for step in self.steps)


def read_stimulus(path: Path, netlist: Netlist) -> Stimulus:
    """Read a stimulus for a netlist, `.csv` or YAML. Raises LayoutdrillError with the place of what is wrong."""
    if path.suffix.lower() == ".csv":
        return _of_csv(path, netlist)
    return _of_yaml(load(path).root, netlist)


def _of_yaml(root: Node, netlist: Netlist) -> Stimulus:
    optional = ("step", "supplies", "groups", "clocks", "start", "vectors", "steps", "watch")
    fields = root.fields((), optional)
    if "vectors" not in fields and "clocks" not in fields:
        root.fail("nothing is put on any input", "add “vectors:” or “clocks:”")
    nets = _Nets(netlist, _groups(fields.get("groups"), netlist))
    clocks = {net: _clock(node) for net, node in nets.named(fields.get("clocks"))}
    start = nets.levels(fields["start"]) if "start" in fields else {}
    steps: list[Step] = []
    for node in fields.get("vectors", ()):
        steps += _vector(node, nets)
        _bound(len(steps), node)
    if "steps" in fields:
        count = fields["steps"].integer(1, MOST_STEPS)
        steps = [*steps[:count], *(Step({}, {}, root.where) for _ in range(count - len(steps)))]
    elif not steps:
        steps = [Step({}, {}, root.where) for _ in range(max(len(levels) for levels in clocks.values()))]
    timed = []
    for at, step in enumerate(steps):
        levels = {net: levels[at % len(levels)] for net, levels in clocks.items()}
        both = next((net for net in step.levels if net in clocks), None)
        if both is not None:
            raise LayoutdrillError(f"{both} is a clock already", where=step.where, todo="set it in one place")
        timed.append(Step({**(start if not at else {}), **levels, **step.levels}, step.expected, step.where))
    watch = tuple(net for node in fields.get("watch", ()) for net in nets.meant(node))
    supplies = None
    if "supplies" in fields:
        supplies = {net: node.integer(0, 1) for net, node in nets.named(fields["supplies"])}
    return _stimulus(timed, watch, nets.groups, supplies, _period(fields.get("step")))


def _stimulus(
    steps: list[Step],
    watch: tuple[str, ...],
    groups: Mapping[str, tuple[str, ...]],
    supplies: Mapping[str, int] | None,
    step_ns: int,
) -> Stimulus:
    inputs = tuple(dict.fromkeys(net for step in steps for net in step.levels))
    return Stimulus(inputs, tuple(steps), watch, groups, supplies, step_ns)


class _Nets:
    """The nets that a stimulus may name, alone or as a group."""

    def __init__(self, netlist: Netlist, groups: Mapping[str, tuple[str, ...]]) -> None:
        self.groups = groups
        self.known = {net.lower(): net for net in reversed(netlist.nets)}
        self.exact = set(netlist.nets)
        self.title = netlist.name

    def net(self, name: str, where: Where) -> str:
        if name in self.exact:
            return name
        net_named = self.known.get(name.lower())
        if net_named is None:
            todo = did_you_mean(name, (*self.exact, *self.groups))
            raise LayoutdrillError(f'no net "{name}" in {self.title}', where=where, todo=todo)
        return net_named

    def meant(self, node: Node) -> tuple[str, ...]:
        name = node.raw
        return self.groups[name] if name in self.groups else (self.net(name, node.where),)

    def named(self, node: Node | None) -> list[tuple[str, Node]]:
        """Return (net, node) for each entry of a mapping whose keys are nets."""
        if node is None:
            return []
        places = dict(node.key_places)
        return [(self.net(key, places.get(key, inner.where)), inner) for key, inner in node.mapping().items()]

    def levels(self, node: Node) -> dict[str, str]:
        """Return the level of each net of a mapping, groups taken apart."""
        places = dict(node.key_places)
        levels = {}
        for key, inner in node.mapping().items():
            group = self.groups.get(key)
            if group is None:
                levels[self.net(key, places.get(key, inner.where))] = _level(inner.raw, inner.where)
            else:
                levels.update(zip(group, _bits(inner, key, len(group)), strict=True))
        return levels


def _level(text: str, where: Where) -> str:
    level = text.strip().upper()
    if level not in LEVELS:
        raise LayoutdrillError(f'"{text}" is no level', where=where, todo="write 0, 1, X (not known) or Z (let go)")
    return level


def _bits(node: Node, group: str, wide: int) -> tuple[str, ...]:
    """Read a group's levels: so many of them in quotes, or a number, in binary or hexadecimal by 0b or 0x."""
    text = node.raw
    letters = text.upper()
    if node.quoted and len(letters) == wide and set(letters) <= set(LEVELS):
        return tuple(letters)
    if letters in {"X", "Z"}:
        return (letters,) * wide
    try:
        figure = int(text, 0) if text[:2].lower() in {"0b", "0x"} else int(text, 10)
    except ValueError:
        figure = -1
    if not 0 <= figure < 1 << wide:
        node.fail(
            f'"{text}" does not fit {group}, {plural(wide, "net")} wide',
            f"write a number from 0 to {(1 << wide) - 1}, or {wide} levels in quotes",
        )
    return tuple(f"{figure:0{wide}b}")


def _groups(node: Node | None, netlist: Netlist) -> dict[str, tuple[str, ...]]:
    if node is None:
        return {}
    nets = _Nets(netlist, {})
    groups: dict[str, tuple[str, ...]] = {}
    for name, members in node.mapping().items():
        if name in nets.exact:
            members.fail(f"{name} is a net, and cannot be a group", "give the group another name")
        groups[name] = tuple(nets.net(member.raw, member.where) for member in members)
    return groups


def _clock(node: Node) -> str:
    text = node.raw.replace(" ", "").upper()
    if not text or set(text) - {"0", "1", "X", "Z"}:
        node.fail(f'"{node.raw}" is no clock', "write its levels step by step in quotes, such as “0100”")
    return text


def _vector(node: Node, nets: _Nets) -> list[Step]:
    keys = set(node.mapping())
    if not keys & _HOLDS or keys - _HOLDS:
        clash = sorted(keys & _HOLDS)
        if clash:
            node.fail(f"“{clash[0]}” stands among nets", "write the nets under “set:”")
        return [Step(nets.levels(node), {}, node.where)]
    fields = node.fields((), ("set", "for", "expect"))
    levels = nets.levels(fields["set"]) if "set" in fields else {}
    count = fields["for"].integer(1, MOST_STEPS) if "for" in fields else 1
    expected = nets.levels(fields["expect"]) if "expect" in fields else {}
    idle = Step({}, {}, node.where)
    steps = [Step(levels, {}, node.where), *([idle] * (count - 1))]
    steps[-1] = Step(steps[-1].levels, expected, fields["expect"].where if expected else node.where)
    return steps


def _bound(count: int, node: Node) -> None:
    if count > MOST_STEPS:
        node.fail(f"more than {MOST_STEPS:,} steps", "cut the stimulus in parts")


def _period(node: Node | None) -> int:
    if node is None:
        return 1000
    seconds = number(node.raw)
    whole = None if seconds is None else seconds * Decimal(1_000_000_000)
    if whole is None or whole < 1 or whole != int(whole):
        node.fail(f'"{node.raw}" is no length of a step', "write whole nanoseconds, such as 500ns or 2us")
    return int(whole)


def _of_csv(path: Path, netlist: Netlist) -> Stimulus:
    """Read the CSV form; places are given as line and field."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is no text"
        raise LayoutdrillError(f"cannot be read ({reason})", where=Where(str(path)), todo="check the path") from None
    nets = _Nets(netlist, {})
    rows = [row for row in enumerate(csv.reader(text.splitlines()), 1) if any(field.strip() for field in row[1])]
    if len(rows) < 2:
        raise LayoutdrillError("there are no steps", where=Where(str(path)), todo="name nets above, levels below")
    line, heads = rows[0]
    if len(rows) - 1 > MOST_STEPS:
        raise LayoutdrillError(f"more than {MOST_STEPS:,} steps", where=Where(str(path)), todo="cut it in parts")
    columns = []
    for at, head in enumerate(heads, 1):
        name = head.strip()
        columns.append((nets.net(name.removesuffix("?").strip(), Where(str(path), line, at)), name.endswith("?")))
    steps = []
    for line, fields in rows[1:]:
        if len(fields) > len(columns):
            what = f"{plural(len(fields), 'field')} under {plural(len(columns), 'name')}"
            raise LayoutdrillError(what, where=Where(str(path), line), todo="take the last ones out")
        levels: dict[str, str] = {}
        expected: dict[str, str] = {}
        for at, ((net, is_expected), field) in enumerate(zip(columns, fields, strict=False), 1):
            if field.strip():
                (expected if is_expected else levels)[net] = _level(field, Where(str(path), line, at))
        steps.append(Step(levels, expected, Where(str(path), line)))
    return _stimulus(steps, (), {}, None, 1000)
