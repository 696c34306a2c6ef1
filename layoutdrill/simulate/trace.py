"""Run a stimulus on a netlist: the level of every watched net after each step, and which expectations failed."""

from collections.abc import Mapping

from layoutdrill.errors import Where
from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.settle import State
from layoutdrill.simulate.stimulus import Stimulus
from layoutdrill.simulate.supplies import find_supplies
from layoutdrill.value import value


@value
class Seen:
    """What a net shows after a step: its level, and 0, 1 or X for the charge that a floating net keeps."""

    level: Level
    charge: Level

    @property
    def sign(self) -> str:
        """0, 1, X, ! (a fight), Z (floating), or 0~ and 1~ for a floating net that still holds a level."""
        if self.level is Level.FLOATING and self.charge.known:
            return f"{self.charge.value}~"
        return self.level.value

    @property
    def carried(self) -> str:
        """What a gate would see: 0, 1 or X."""
        return self.charge.value if self.charge.known else "X"


@value
class Failure:
    """A net that is not as expected at the end of a step."""

    step: int
    net: str
    expected: str
    seen: str
    where: Where


@value
class Trace:
    """A run: `rows[step][net]` for the nets driven and watched, `fights` and `restless` nets by step, where any."""

    netlist: Netlist
    stimulus: Stimulus
    watched: tuple[str, ...]
    rows: tuple[Mapping[str, Seen], ...]
    failures: tuple[Failure, ...]
    fights: Mapping[int, tuple[str, ...]]
    restless: Mapping[int, tuple[str, ...]]

    @property
    def shown(self) -> tuple[str, ...]:
        """The nets of the table: those driven, then those watched."""
        return tuple(dict.fromkeys((*self.stimulus.inputs, *self.watched)))


def run(netlist: Netlist, stimulus: Stimulus, watched: tuple[str, ...] | None = None) -> Trace:
    """
    Run the stimulus from a start at which all charge is X.

    `watched` are the nets to note besides the inputs: those that the stimulus names, else the other ports, else (in a
    netlist without ports) every net that something drives.
    """
    supplies = find_supplies(netlist, stimulus.supplies)
    watched = watched or stimulus.watch or _outputs(netlist, stimulus, supplies.nets)
    steps = [{net: None if level == "Z" else level for net, level in step.levels.items()} for step in stimulus.steps]
    states = sequence(netlist, steps, supplies)
    nets = tuple(dict.fromkeys((*stimulus.inputs, *watched)))
    expected = {net for step in stimulus.steps for net in step.expected}
    rows, failures = [], []
    fights: dict[int, tuple[str, ...]] = {}
    restless: dict[int, tuple[str, ...]] = {}
    for at, (step, state) in enumerate(zip(stimulus.steps, states, strict=True)):
        rows.append({net: _seen(state, net) for net in nets})
        noted = {net: _seen(state, net) for net in expected}
        for net, wanted in step.expected.items():
            if wanted != "X" and not _meets(noted[net], wanted):
                failures.append(Failure(at, net, wanted, noted[net].sign, step.where))
        if state.fights:
            fights[at] = state.fights
        if state.oscillating:
            restless[at] = tuple(sorted(state.oscillating))
    return Trace(netlist, stimulus, watched, tuple(rows), tuple(failures), fights, restless)


def _seen(state: State, net: str) -> Seen:
    return Seen(state.level(net), state.stored(net))


def _meets(seen: Seen, wanted: str) -> bool:
    if wanted == "Z":
        return seen.level is Level.FLOATING
    return seen.level is not Level.FIGHT and seen.charge.value == wanted


def _outputs(netlist: Netlist, stimulus: Stimulus, rails: frozenset[str]) -> tuple[str, ...]:
    driven = set(stimulus.inputs) | rails
    if netlist.ports:
        return tuple(port for port in netlist.ports if port not in driven)
    ends = {end for t in netlist.transistors for end in t.ends} | {n for e in netlist.elements for n in e.nodes}
    return tuple(net for net in netlist.nets if net in ends and net not in driven)
