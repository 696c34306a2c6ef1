"""What a mark file says: pictures of one place, and marks on them, in pixels of the first picture, y downwards."""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from pathlib import Path
from typing import Any

from layoutdrill.errors import Where
from layoutdrill.netlist.roles import Role
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value

At = tuple[float, float]
"""A place in pixels of the first picture as it is stored: x to the right, y downwards, both from its upper left."""

NOWHERE = Where("")


class Layer(StrEnum):
    """What a wire, point or end of a contact lies in."""

    METAL = "metal"
    METAL_2 = "metal 2"
    POLY = "poly"
    DIFFUSION = "diffusion"
    TAP = "tap"


class Stage(StrEnum):
    """How far the place had been taken apart when the picture was taken."""

    WHOLE = "whole"
    GLASS_OFF = "glass off"
    METAL_2_OFF = "metal 2 off"
    METAL_OFF = "metal off"
    POLY = "down to poly"
    BARE = "bare"
    STAINED = "stained"


class Lighting(StrEnum):
    """How the light came to the camera."""

    REFLECTED = "reflected"
    DARK_FIELD = "dark field"
    TRANSMITTED = "transmitted"


class Sort(StrEnum):
    """A sort of thing of which a region may say that every one in it is marked."""

    CONTACTS = "contacts"
    WIRES = "wires"
    TAPS = "taps"


@value
class Picture:
    """A picture file of the place. `size` is (0, 0) and `sha256` "" where the mark file does not say them."""

    file: str
    stage: Stage = Stage.WHOLE
    light: Lighting = Lighting.REFLECTED
    size: tuple[int, int] = (0, 0)
    sha256: str = ""
    where: Where = field(default=NOWHERE, compare=False)


@value
class JoinPoint:
    """A point seen in two pictures: `at` in the picture, `on` in the first one."""

    picture: str
    at: At
    on: At
    where: Where = field(default=NOWHERE, compare=False)


@value
class Wire:
    """A stretch of a net: a line along its middle, `width` pixels wide (0: as wide as is usual on the layer)."""

    net: str
    layer: Layer
    at: tuple[At, ...]
    width: float = 0.0
    where: Where = field(default=NOWHERE, compare=False)


@value
class Point:
    """A place that is known to lie on a net."""

    net: str
    layer: Layer
    at: At
    where: Where = field(default=NOWHERE, compare=False)


@value
class Contact:
    """A contact, or with two metals a via, that joins the `upper` layer with the `lower` one on a net."""

    net: str
    upper: Layer
    lower: Layer
    at: At
    size: float = 0.0
    where: Where = field(default=NOWHERE, compare=False)


@value
class MarkedTransistor:
    """
    A transistor by three places: the middle of its gate, and its two ends. `channel` is its (length, width) in pixels,
    (0, 0) where it was not measured; length runs from end to end.
    """

    name: str
    kind: Kind
    mode: Mode
    gate: str
    ends: tuple[str, str]
    at: tuple[At, At, At]
    channel: tuple[float, float] = (0.0, 0.0)
    where: Where = field(default=NOWHERE, compare=False)


@value
class Port:
    """A net that leads out of a region, and a place where its name may stand."""

    net: str
    role: Role
    at: At
    complement_of: str = ""
    where: Where = field(default=NOWHERE, compare=False)


@value
class Region:
    """
    A named part of the picture that is asked about. `outline` is a polygon, or two corners of a box. `complete` are the
    sorts of thing of which every one in it is marked; transistors always are. `netlist` is a SPICE file beside.
    """

    name: str
    outline: tuple[At, ...]
    title: str = ""
    structure: str = ""
    aliases: tuple[str, ...] = ()
    boundary: str = ""
    about: str = ""
    complete: frozenset[Sort] = frozenset()
    netlist: str = ""
    where: Where = field(default=NOWHERE, compare=False)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Return left, top, right and bottom."""
        xs, ys = [x for x, _ in self.outline], [y for _, y in self.outline]
        return min(xs), min(ys), max(xs), max(ys)

    def holds(self, at: At) -> bool:
        """Tell whether a place lies inside the outline, by the rule of odd crossings."""
        x, y = at
        left, top, right, bottom = self.box
        if not (left <= x <= right and top <= y <= bottom):
            return False
        if len(self.outline) == 2:
            return True
        odd = False
        for (xa, ya), (xb, yb) in zip(self.outline, (*self.outline[1:], self.outline[0]), strict=True):
            if (ya > y) != (yb > y) and x < (xb - xa) * (y - ya) / (yb - ya) + xa:
                odd = not odd
        return odd


@value
class Repeat:
    """
    A marked region that lies `columns` × `rows` times, `right` and `down` from each other. Nets are named anew in each
    but the `shared` ones, those that run along a row (`by_row`) and those along a column (`by_column`).
    """

    region: str
    columns: int
    rows: int
    right: At
    down: At
    shared: tuple[str, ...] = ()
    by_row: tuple[str, ...] = ()
    by_column: tuple[str, ...] = ()
    where: Where = field(default=NOWHERE, compare=False)


@value
class Marks:
    """
    All that a mark file says, after what was taken back. `per_lambda` is how many pixels λ takes, `nm` the size of a
    pixel or 0; `turn` (quarter turns anticlockwise) and `mirror` (left and right exchanged, before the turn) say how
    the first picture is shown. `shows` are facts that the author says the pictures show beside what is marked.
    """

    name: str
    file: str
    process: str
    per_lambda: int
    nm: float
    pictures: tuple[Picture, ...]
    joins: tuple[JoinPoint, ...] = ()
    wires: tuple[Wire, ...] = ()
    points: tuple[Point, ...] = ()
    contacts: tuple[Contact, ...] = ()
    transistors: tuple[MarkedTransistor, ...] = ()
    ports: tuple[Port, ...] = ()
    regions: tuple[Region, ...] = ()
    repeats: tuple[Repeat, ...] = ()
    turn: int = 0
    mirror: bool = False
    shows: tuple[str, ...] = ()
    entries: int = 0

    @property
    def folder(self) -> Path:
        return Path(self.file).parent

    @property
    def nets(self) -> Mapping[str, Where]:
        """Return every net that is named, and where first."""
        first_places: dict[str, Where] = {}
        for t in self.transistors:
            for net in (t.gate, *t.ends):
                first_places.setdefault(net, t.where)
        marks: tuple[Wire | Point | Contact | Port, ...] = (*self.wires, *self.points, *self.contacts, *self.ports)
        for mark in marks:
            first_places.setdefault(mark.net, mark.where)
        return first_places

    def region(self, name: str) -> Region | None:
        return next((region for region in self.regions if region.name == name), None)


Mark = Picture | JoinPoint | Wire | Point | Contact | MarkedTransistor | Port | Region | Repeat
SORTS: Mapping[type[Any], str] = {
    Picture: "pictures",
    JoinPoint: "joins",
    Wire: "wires",
    Point: "points",
    Contact: "contacts",
    MarkedTransistor: "transistors",
    Port: "ports",
    Region: "regions",
    Repeat: "repeats",
}
"""The field of `Marks` that holds each sort of mark, in the order of their canonical text."""
