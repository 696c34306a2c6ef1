"""One edit of a netlist that would mend it: as devices and nets by number, in words, and made."""

from dataclasses import replace

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.value import value

_KINDS = (Kind.P, Kind.N)
ADDED = "+"
"""The name of a transistor that an edit adds."""


@value
class Mend:
    """One edit in words, the devices and nets that it touches, and by how many kinds of place it leaves fewer."""

    words: str
    transistors: tuple[str, ...]
    nets: tuple[str, ...]
    gain: int
    edit: "Edit"

    def made(self, netlist: Netlist) -> Netlist | None:
        """Return the netlist after the edit; None where the words alone say what to do."""
        if not self.edit.changed and self.edit.added is None:
            return None
        nets = list(netlist.nets)
        ts: list[Transistor | None] = list(netlist.transistors)
        for i, new in self.edit.changed:
            t = netlist.transistors[i]
            ts[i] = None
            if new is not None:
                kind = _KINDS[new.kind & 1]
                ts[i] = replace(t, kind=kind, gate=nets[new.gate], source=nets[new.source], drain=nets[new.drain])
        if (new := self.edit.added) is not None:
            mode = Mode.DEPLETION if new.kind & 2 else Mode.ENHANCEMENT
            names = (nets[new.gate], nets[new.source], nets[new.drain])
            ts.append(Transistor(ADDED, _KINDS[new.kind & 1], *names, mode=mode))
        return replace(netlist, transistors=tuple(t for t in ts if t is not None))


@value
class Device:
    """A transistor as the comparison sees it: a type, a gate and two ends by number."""

    kind: int
    gate: int
    source: int
    drain: int


@value
class Edit:
    """Devices by number that change: to another device, or to none; `added` is one more."""

    changed: tuple[tuple[int, Device | None], ...] = ()
    added: Device | None = None
