"""A chip: parts from the bottom of its core to the top, pads round its edge, and one netlist of all of them."""

from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.cells.entry import Port, Style, style_of
from layoutdrill.cells.model import Cell
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.netlist.roles import Role
from layoutdrill.process import Process
from layoutdrill.value import value

SIDES = ("left", "top", "right", "bottom")


@value
class Part:
    """
    A part of the core: an array of the library, or gates that stand in rows.

    `joined` names the chip's net at each port of the part's cell; what it leaves out stays inside.
    """

    name: str
    title: str
    cell: Cell
    joined: Mapping[str, str]
    array: bool


@value
class Pad:
    """
    A pad: the pin's name, its edge, and the chip's net behind what stands at it; "input", "output" or "supply".

    `faces` says in words what lies on that side of the die.
    """

    name: str
    side: str
    sort: str
    net: str
    faces: str


@value
class Slot:
    """What stands in one place of the plan: its netlist over the chip's nets, and the chip's names of its devices."""

    part: Part
    netlist: Netlist
    names: tuple[str, ...]
    pad: Pad | None = None


@value
class Story:
    """
    What the board does while a log is taken: a row sets some pins, one after another, the `strobe` last, after it
    was put to 0 first; then the `clock` goes to 1 and back, so often as `pulses` says of the row. "" where there is no
    such pin.
    """

    rows: tuple[Mapping[str, int], ...]
    pulses: tuple[int, ...]
    clock: str = ""
    strobe: str = ""


@value
class Chip:
    """
    `transistors` is the number that was planned, by logic style; `input_part` and `output_part` stand at pads; `log`
    is what its board does while a log is taken, None where nobody said.
    """

    name: str
    title: str
    about: str
    transistors: Mapping[Style, int]
    pads: tuple[Pad, ...]
    parts: tuple[Part, ...]
    input_part: Part
    output_part: Part
    where: Where
    log: Story | None = None

    def fits(self, process: Process) -> bool:
        """Tell whether it can be drawn in a process: its logic style is stated, and one metal carries all wires."""
        upper = any(layer.role == "metal-2" for layer in process.layers.values())
        return style_of(process) in self.transistors and not process.gate_supply and bool(process.drawing) and not upper

    def slots(self, process: Process) -> tuple[Slot, ...]:
        """
        Return the core's parts from the bottom up and then what stands at each pad; transistors numbered in that order.

        Raises LayoutdrillError where the chip does not fit the process, or has not as many transistors as planned.
        """
        if not self.fits(process):
            raise LayoutdrillError(f"{self.name} makes no sense in {process.name}", todo="choose another process")
        placed: list[tuple[Part, Mapping[str, str], Pad | None]] = [(part, part.joined, None) for part in self.parts]
        for pad in self.pads:
            if pad.sort == "input":
                placed.append((self.input_part, {"pad": pad.name, "y": pad.net}, pad))
            elif pad.sort == "output":
                placed.append((self.output_part, {"a": pad.net, "pad": pad.name}, pad))
        slots: list[Slot] = []
        count = 0
        for part, joined, at in placed:
            prefix = part.name if at is None else at.name.lower()
            own = _renamed(part.cell.netlist(process), joined, prefix, process)
            names = tuple(f"M{count + n}" for n in range(1, len(own.transistors) + 1))
            slots.append(Slot(part, own, names, at))
            count += len(names)
        planned = self.transistors[style_of(process)]
        if count != planned:
            raise LayoutdrillError(
                f"{self.name} has {count} transistors, {planned} are stated", where=self.where, todo="mend the number"
            )
        return tuple(slots)

    def netlist(self, process: Process) -> Netlist:
        """Return the whole chip; its ports are the supplies, then the pins as they stand round the die."""
        devices: list[Transistor] = []
        for slot in self.slots(process):
            named = zip(slot.netlist.transistors, slot.names, strict=True)
            devices += [replace(t, name=name) for t, name in named]
        pins = tuple(pad.name for pad in self.pads if pad.sort != "supply")
        return Netlist(self.name, (*process.supplies, *pins), tuple(devices))

    @property
    def ports(self) -> tuple[Port, ...]:
        """Return the pins with what they are for."""
        roles = {"input": Role.INPUT, "output": Role.OUTPUT}
        return tuple(Port(pad.name, roles[pad.sort]) for pad in self.pads if pad.sort != "supply")


def _renamed(own: Netlist, joined: Mapping[str, str], prefix: str, process: Process) -> Netlist:
    """Return a part's netlist over the chip's nets; what stays inside is named after the part."""
    rails = set(process.rails)

    def net(name: str) -> str:
        return name if name in rails or not name else joined.get(name, f"{prefix}_{name}")

    devices = tuple(
        replace(t, gate=net(t.gate), source=net(t.source), drain=net(t.drain), body=net(t.body))
        for t in own.transistors
    )
    ports = tuple(net(port) for port in own.ports if port in rails or port in joined)
    return Netlist(own.name, ports, devices)
