"""A deck's own layouts: a cell of a GDSII or OASIS file beside it, or rectangles written in it, in a known process."""

import re

from layoutdrill.cells.entry import Port
from layoutdrill.deck.beside import beside
from layoutdrill.deck.fields import LAYOUT, optional, required
from layoutdrill.deck.known import Known
from layoutdrill.deck.model import OwnLayout
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.roles import PORT_ROLES, Role
from layoutdrill.netlist.spice import NETLIST_FILES
from layoutdrill.process import Process, load_process
from layoutdrill.question.model import Specimen
from layoutdrill.yamldoc import Node

MOST_RECTANGLES = 20_000
LARGEST = 100_000
"""λ from the corner."""
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]{0,63}\Z")
_ENDINGS = (".gds", ".gdsii", ".gds2", ".gds.gz", ".oas")


def read_own_layout(node: Node, known: Known) -> OwnLayout:
    """Read an entry of “layouts”. Raises LayoutdrillError for the first thing wrong with it."""
    fields = node.fields(required(LAYOUT), optional(LAYOUT))
    name = fields["name"].text()
    if not _NAME.match(name):
        fields["name"].fail(f"“{name}” is no name for a layout", "use letters, figures and _, starting with a letter")
    process, folder = known.process(fields["process"]), known.folder
    if ("file" in fields) == ("shapes" in fields):
        node.fail("a layout is a file, or shapes", "give “file” or “shapes”, one of them")
    for key, needs in (("cell", "file"), ("labels", "shapes")):
        if key in fields and needs not in fields:
            fields[key].fail(f"“{key}” goes with “{needs}”", "leave it out")

    def text(key: str) -> str:
        return fields[key].text().strip() if key in fields else ""

    return OwnLayout(
        name=name,
        structure=fields["structure"].text(),
        process=process,
        ports=_ports(fields["ports"]),
        title=text("title"),
        aliases=tuple(item.text() for item in fields["aliases"].items()) if "aliases" in fields else (),
        boundary=text("boundary"),
        about=text("look for"),
        file=beside(fields["file"], folder, _ENDINGS) if "file" in fields else None,
        cell=text("cell"),
        netlist=beside(fields["netlist"], folder, NETLIST_FILES) if "netlist" in fields else None,
        drawn=_drawn(name, fields, load_process(process)) if "shapes" in fields else None,
        where=node.where,
    )


def _ports(node: Node) -> tuple[Port, ...]:
    roles = [role.value for role in PORT_ROLES]
    ports: list[Port] = []
    for name, given in node.mapping().items():
        text = given.text()
        if text.startswith("complement of "):
            other = text.removeprefix("complement of ")
            partner = next((port for port in ports if port.name == other), None)
            if partner is None:
                given.fail(f'no port "{other}" before this one', "name a port that stands above")
            ports.append(Port(name, partner.role, other))
        else:
            ports.append(Port(name, Role(given.word(roles, "role"))))
    return tuple(ports)


def _drawn(name: str, fields: dict[str, Node], process: Process) -> Layout:
    """Read rectangles [x0, y0, x1, y1] in λ by mask layer, and labels NET: [layer, x, y]."""
    per, count = process.grid_per_lambda, 0

    def grid(node: Node) -> int:
        steps = node.number(-LARGEST, LARGEST) * per
        if steps != round(steps):
            node.fail(f"{node.raw} λ lies off the grid", f"the grid of {process.name} is {1 / per:g} λ")
        return round(steps)

    shapes: dict[str, tuple[Rect, ...]] = {}
    for layer, entries in fields["shapes"].mapping().items():
        if layer not in process.layers:
            entries.fail(f'{process.name} has no layer "{layer}"', f"known: {', '.join(process.layers)}")
        rects = []
        for entry in entries.items():
            corners = entry.items()
            count += 1
            if len(corners) != 4:
                entry.fail("a rectangle is four numbers", "write [x0, y0, x1, y1], in λ")
            if count > MOST_RECTANGLES:
                entry.fail(f"more than {MOST_RECTANGLES:,} rectangles", "give a GDSII file instead")
            x0, y0, x1, y1 = map(grid, corners)
            if x0 >= x1 or y0 >= y1:
                entry.fail("a rectangle without area", "write x0 < x1 and y0 < y1")
            rects.append(Rect(x0, y0, x1, y1))
        shapes[layer] = tuple(rects)
    labels = []
    for net, entry in fields["labels"].mapping().items() if "labels" in fields else ():
        said = entry.items()
        if len(said) != 3:
            entry.fail("a label is a layer and a place", "write NET: [layer, x, y], in λ")
        layer = said[0].word(tuple(process.layers), "layer")
        labels.append(Label(net, layer, grid(said[1]), grid(said[2])))
    return Layout(name, shapes, tuple(labels))


def layout_of_own(own: OwnLayout) -> Layout:
    """Return the layout as it is drawn. Raises LayoutdrillError where its file cannot be read."""
    if own.drawn is not None:
        return own.drawn
    from layoutdrill.layout.files import read_layout  # noqa: PLC0415 - few decks bring one

    assert own.file is not None
    return read_layout(own.file, load_process(own.process), own.cell or None)


def specimen_of_own(own: OwnLayout, layout: Layout, seed: int) -> Specimen:
    """Return a layout, turned already, as a specimen."""
    face = DrawnFace.of(layout, load_process(own.process))
    return Specimen(
        cell=own.name,
        structure=own.structure,
        aliases=own.aliases,
        face=face,
        netlist=face.extraction.netlist,
        boundary=own.boundary,
        about=own.about,
        seed=seed,
        ports=own.ports,
    )
