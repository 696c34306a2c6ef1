"""Ways over open channels and resistors, from a net to what drives it: which there are, and in words."""

from collections.abc import Callable, Mapping, Sequence

from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor
from layoutdrill.process import Process
from layoutdrill.question.targets import is_load
from layoutdrill.simulate.levels import Level

Part = Transistor | Element
"""What leads from one net to another: a transistor, or a resistor."""
_RESISTOR = 4
"""From so many times as long as wide on a transistor is as weak as a resistor (common practice)."""


def conducts(t: Transistor, levels: Mapping[str, Level]) -> bool:
    """Tell whether a transistor's channel is open at these levels."""
    if t.mode is Mode.DEPLETION:
        return True
    return levels[t.gate] is (Level.HIGH if t.kind is Kind.N else Level.LOW)


def passes_fully(t: Transistor, side: int, beyond: str) -> bool:
    """
    Tell whether an open channel passes a level without losing a threshold: n transistors lose it on high levels, p
    transistors on low ones, unless they are depletion ones or their gate is on a supply `beyond` the rails.
    """
    if t.mode is Mode.DEPLETION:
        return True
    return (t.kind is Kind.N) != bool(side) or (bool(beyond) and t.gate == beyond)


def way_to(
    netlist: Netlist, levels: Mapping[str, Level], start: str, sources: Mapping[str, int], side: int,
    passes: Callable[[Transistor], bool] = lambda _: True,
) -> tuple[tuple[Part, ...], str] | None:  # fmt: skip
    """
    Return a shortest way over what conducts from a net to a source of a level, with that source's net; None where
    there is none. No way leads through a source, and over no transistor that does not pass the test.
    """
    open_now: list[tuple[Part, tuple[str, str]]] = [
        (t, t.ends) for t in netlist.transistors if conducts(t, levels) and passes(t)
    ]
    open_now += [(e, (e.nodes[0], e.nodes[1])) for e in netlist.elements if e.kind == "resistor"]
    edge: list[tuple[str, tuple[Part, ...]]] = [(start, ())]
    seen = {start}
    while edge:
        net, way = edge.pop(0)
        for part, ends in open_now:
            if net not in ends:
                continue
            other = ends[1] if ends[0] == net else ends[0]
            if other in seen:
                continue
            seen.add(other)
            if other not in sources:
                edge.append((other, (*way, part)))
            elif sources[other] == side:
                return (*way, part), other
    return None


def hard_to_call(
    netlist: Netlist, process: Process, levels: Mapping[str, Level], sources: Mapping[str, int], net: str, level: Level
) -> bool:  # fmt: skip
    """
    Tell whether a level is that of one of two open ways neither of which is plainly weak, a load or as good as a
    resistor: which one wins is then a matter of sizes, and a reader calls it a fight.
    """
    if not level.known or net in sources:
        return False
    against = way_to(netlist, levels, net, sources, 1 - int(level))
    return against is not None and not any(_weak(part, netlist, process) for part in against[0])


def _weak(part: Part, netlist: Netlist, process: Process) -> bool:
    if isinstance(part, Element):
        return True
    return is_load(part, process, netlist) or part.length >= _RESISTOR * part.width


def parts_told(way: Sequence[Part], numbers: Mapping[str, str]) -> str:
    """Write the parts of a way by their numbers on the picture, such as “transistors 1 and 3 and the resistor”."""
    of = sorted((numbers.get(part.name, "?") for part in way if isinstance(part, Transistor)), key=_by_number)
    told = [f"transistor{'s' * (len(of) > 1)} {' and '.join(of)}"] if of else []
    resistors = sum(isinstance(part, Element) for part in way)
    told += [("the resistor", "resistors")[resistors > 1]] if resistors else []
    return " and ".join(told) or "nothing"


def lead(way: Sequence[Part]) -> str:
    """Return the verb for the parts of a way."""
    return "leads" if len(way) == 1 else "lead"


def transistors_of(way: Sequence[Part]) -> tuple[str, ...]:
    """Return the names of the transistors on a way."""
    return tuple(part.name for part in way if isinstance(part, Transistor))


def _by_number(number: str) -> tuple[int, str]:
    return len(number), number
