"""Say of which outputs no equation is told, why, and what would settle it."""

from collections.abc import Iterator, Mapping, Sequence

from layoutdrill.netlist.roles import Role
from layoutdrill.reading.apart import Told
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.recognise.terms import UNKNOWN

RUN = "`layoutdrill simulate` with a stimulus settles it"
_TORN = (UNKNOWN, "pull-up", "pull-down")
_CHARGED = ("precharged gate", "domino gate", "ratioless stage", "four-phase stage")


def _after_torn(recognition: Recognition) -> dict[str, str]:
    """Return the nets that stages fitting nothing known decide, each with the net of such a stage."""
    readers: dict[str, list[Structure]] = {}
    for s in recognition.structures:
        for port in s.ports:
            if port.role is not Role.OUTPUT:
                readers.setdefault(port.net, []).append(s)
    torn = {n: n for s in recognition.structures if s.term in _TORN for n in s.nets(Role.OUTPUT)}
    front = list(torn)
    for net in front:
        for after in (n for s in readers.get(net, ()) for n in s.nets(Role.OUTPUT)):
            if after not in torn:
                torn[after] = torn[net]
                front.append(after)
    return torn


def without_equation(
    recognition: Recognition,
    functions: Sequence[str],
    stores: Sequence[Told],
    contradicted: Mapping[str, str],
    undone: Sequence[str],
) -> Iterator[str]:
    """
    Yield, for each output without an equation, why there is none.

    `contradicted` gives inputs for which the simulator gives another level than the gates say. Where something was
    left for want of time, that is told instead of what may hang on it.
    """
    told = {f.split(" ")[0] for f in functions} | {s.output for s, taken, held in stores if taken and held}
    unheld = {s.output: s.control for s, taken, held in stores if not (taken and held)}
    charged = {n for s in recognition.all() if s.term in _CHARGED for n in s.nets(Role.OUTPUT)}
    swinging = {n for s in recognition.all() if s.term.endswith("oscillator") for n in s.nets(Role.OUTPUT)}
    torn = _after_torn(recognition)
    for net in recognition.nets(Role.OUTPUT):
        if net in contradicted:
            yield f"{net}: its gates say one thing and the simulator another, at {contradicted[net]}; {RUN}"
        elif net in unheld and net not in told:
            yield f"{net}: none held in a run of changes of {unheld[net]} and the other inputs; {RUN}"
        elif net in told or undone:
            continue
        elif net in charged:
            yield f"{net}: it is charged in one phase and decided in another; {RUN}, its clocks as clocks"
        elif net in swinging:
            yield f"{net}: it swings by itself; {RUN}"
        elif net in torn:
            which = "it" if torn[net] == net else f"{torn[net]}, which it follows,"
            yield f"{net}: for some inputs {which} is not driven, or driven both ways; {RUN}"
        else:
            yield f"{net}: it hangs on what is stored, not on the inputs alone; {RUN}"
    if not recognition.nets(Role.OUTPUT) and recognition.netlist.transistors and recognition.nets(Role.SIGNAL):
        yield f"any port: none is known to be an output; {RUN}"
