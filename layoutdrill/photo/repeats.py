"""Write out repeated regions: each mark of the region once for every place, with nets named anew."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TypeVar

from layoutdrill.errors import LayoutdrillError
from layoutdrill.photo.model import At, Contact, MarkedTransistor, Marks, Point, Port, Region, Repeat, Wire
from layoutdrill.photo.read import MOST_REPEATED

T = TypeVar("T", Point, Contact)


Placed = Wire | Point | Contact | Port | MarkedTransistor
"""Marks that lie at a place."""


def middle(mark: Placed) -> At:
    """Return the place by which a mark belongs to a region: a gate, a wire's middle, the point itself."""
    if isinstance(mark, MarkedTransistor):
        return mark.at[0]
    if isinstance(mark, Wire):
        (xa, ya), (xb, yb) = mark.at[0], mark.at[-1]
        return (xa + xb) / 2, (ya + yb) / 2
    return mark.at


def written_out(marks: Marks) -> Marks:
    """Return the marks with every repeat written out. Raises LayoutdrillError where that is too many."""
    if not marks.repeats:
        return marks
    wires, points, contacts = list(marks.wires), list(marks.points), list(marks.contacts)
    ports, transistors, regions = list(marks.ports), list(marks.transistors), list(marks.regions)
    for repeat in marks.repeats:
        region = marks.region(repeat.region)
        if region is None:
            continue
        for column, row, copy in _copies(repeat):
            wires += [copy.wire(wire) for wire in marks.wires if region.holds(middle(wire))]
            points += [copy.of(point) for point in marks.points if region.holds(point.at)]
            contacts += [copy.of(contact) for contact in marks.contacts if region.holds(contact.at)]
            ports += [copy.port(port) for port in marks.ports if region.holds(port.at)]
            devices = [copy.transistor(t, column, row) for t in marks.transistors if region.holds(t.at[0])]
            transistors += devices
            regions.append(copy.region(region, column, row))
            if len(wires) + len(points) + len(contacts) + len(transistors) > MOST_REPEATED:
                raise LayoutdrillError(
                    f"repeats make more than {MOST_REPEATED:,} marks",
                    where=repeat.where,
                    todo="repeat fewer, or a smaller region",
                )
    return replace(
        marks, wires=tuple(wires), points=tuple(points), contacts=tuple(contacts), ports=tuple(ports),
        transistors=tuple(transistors), regions=tuple(regions), repeats=(),
    )  # fmt: skip


class _Copy:
    """One place of a repeated region."""

    def __init__(self, repeat: Repeat, column: int, row: int) -> None:
        (rx, ry), (dx, dy) = repeat.right, repeat.down
        self.dx, self.dy = column * rx + row * dx, column * ry + row * dy
        self.repeat, self.column, self.row = repeat, column, row

    def net(self, name: str) -> str:
        """Name a net anew; one that all share, and that of the first cell, keeps its name."""
        repeat = self.repeat
        if name in repeat.shared:
            return name
        if name in repeat.by_row:
            return name if not self.row else f"{name}[{self.row}]"
        if name in repeat.by_column:
            return name if not self.column else f"{name}[{self.column}]"
        return f"{name}[{self.column}.{self.row}]"

    def at(self, place: At) -> At:
        return place[0] + self.dx, place[1] + self.dy

    def of(self, mark: T) -> T:
        return replace(mark, net=self.net(mark.net), at=self.at(mark.at))

    def wire(self, wire: Wire) -> Wire:
        return replace(wire, net=self.net(wire.net), at=tuple(self.at(place) for place in wire.at))

    def port(self, port: Port) -> Port:
        other = self.net(port.complement_of) if port.complement_of else ""
        return replace(port, net=self.net(port.net), at=self.at(port.at), complement_of=other)

    def transistor(self, t: MarkedTransistor, column: int, row: int) -> MarkedTransistor:
        a, b, c = (self.at(p) for p in t.at)
        ends = self.net(t.ends[0]), self.net(t.ends[1])
        return replace(t, name=f"{t.name}.{column}.{row}", gate=self.net(t.gate), ends=ends, at=(a, b, c))

    def region(self, region: Region, column: int, row: int) -> Region:
        outline = tuple(self.at(p) for p in region.outline)
        return replace(region, name=f"{region.name}.{column}.{row}", outline=outline, netlist="")


def _copies(repeat: Repeat) -> Iterator[tuple[int, int, _Copy]]:
    """Yield each place but the first, which is the marked cell itself."""
    for row in range(repeat.rows):
        for column in range(repeat.columns):
            if column or row:
                yield column, row, _Copy(repeat, column, row)
