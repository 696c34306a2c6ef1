"""Photographs whose truth is known: a drawing photographed by the tool itself, and marked from its extraction."""

from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.face.materials import Material
from layoutdrill.face.model import Light
from layoutdrill.photo.files import digest_of
from layoutdrill.photo.model import (
    Contact,
    JoinPoint,
    Layer,
    MarkedTransistor,
    Marks,
    Picture,
    Port,
    Region,
    Sort,
    Stage,
    Wire,
)
from layoutdrill.photo.write import marks_text
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View

SCALE = 8
"""Pixels per λ."""
WORN = 1.0
"""The attic's."""
TAKEN = {}
"""The pictures that were taken, as files, by what is seen on them."""
LAYERS = {
    Material.METAL: Layer.METAL,
    Material.POLY: Layer.POLY,
    Material.DIFFUSION: Layer.DIFFUSION,
    Material.TAP: Layer.TAP,
}


@cache
def specimen(cell, process, seed=1, difficulty=0.2):
    return replace(drawn(load_cell(cell), process, seed, difficulty), wear=WORN)


def view_of(made):
    return View(made.face.box.grown(2 * made.process.grid_per_lambda), SCALE)


def light_of(made, stage=""):
    return Light(load_look("reflected-light"), made.seed, made.wear, stage=stage)


def photographed(made, path, stage=""):
    """Save the picture of a worn die, taken once in a run."""
    key = made.cell, made.process.name, made.seed, made.face.text(), stage
    if key not in TAKEN:
        file = BytesIO()
        made.face.image(view_of(made), light_of(made, stage)).save(file, "PNG")
        TAKEN[key] = file.getvalue()
    Path(path).write_bytes(TAKEN[key])


def marked(made, file, *, complete=tuple(Sort), second="", region=None):
    """Return marks that say of a picture what its drawing is."""
    view, light, process = view_of(made), light_of(made), made.process
    width, height = view.size(process)

    def at(x, y):
        return view.to_pixel(process, *made.face.seen_at(light, x, y))

    def line(rect):
        """Return the middle line of a rectangle, and its width."""
        if rect.width >= rect.height:
            ends = (
                (rect.x0 + rect.height / 2, (rect.y0 + rect.y1) / 2),
                (rect.x1 - rect.height / 2, (rect.y0 + rect.y1) / 2),
            )
        else:
            ends = (
                ((rect.x0 + rect.x1) / 2, rect.y0 + rect.width / 2),
                ((rect.x0 + rect.x1) / 2, rect.y1 - rect.width / 2),
            )
        wide = min(rect.width, rect.height) * SCALE / process.grid_per_lambda
        return tuple(view.to_pixel(process, x, y) for x, y in ends), wide

    scene, extraction = made.face.scene, made.extraction
    wires = []
    for wire in scene.wires:
        if wire.material in LAYERS:
            ends, wide = line(wire.rect)
            wires.append(Wire(wire.net, LAYERS[wire.material], ends, wide))
    contacts = tuple(
        Contact(j.net, Layer.METAL, LAYERS[j.material], at(*j.rect.centre), SCALE * 2) for j in scene.joints
    )
    transistors = []
    for t in made.netlist.transistors:
        channel = extraction.channel(t.name)[0]
        ends = [
            next((net, rect) for net in t.ends[::way] for rect in rects_of(extraction, net) if touching(rect, channel))
            for way in (1, -1)
        ]
        (xa, ya), (xb, yb) = (rect.centre for _, rect in ends)
        x, y = channel.centre
        across = abs(xa - xb) > abs(ya - yb)
        places = (at(x, y), at(xa, y if across else ya), at(xb, y if across else yb))
        long, wide = (channel.width, channel.height) if across else (channel.height, channel.width)
        size = tuple(n * SCALE / process.grid_per_lambda for n in (long, wide))
        transistors.append(MarkedTransistor(t.name, t.kind, t.mode, t.gate, (ends[0][0], ends[1][0]), places, size))
    ports = []
    roles = {port.name: port for port in made.ports}
    for label in scene.labels:
        if label.text in roles and label.text not in {p.net for p in ports}:
            port = roles[label.text]
            ports.append(Port(label.text, port.role, at(label.x, label.y), port.complement_of or ""))
    pictures = [Picture(Path(file).name, size=(width, height), sha256=digest_of(Path(file)))]
    joins = ()
    if second:
        pictures.append(Picture(Path(second).name, Stage.METAL_OFF))
        spots = ((10.0, 12.0), (width - 20.0, 15.0), (30.0, height - 9.0), (width - 12.0, height - 30.0))
        joins = tuple(JoinPoint(Path(second).name, spot, spot) for spot in spots)
    name = region or made.cell
    box = Region(
        name, ((0.0, 0.0), (float(width), float(height))), f"marked {made.cell}", made.structure, made.aliases,
        made.boundary, complete=frozenset(complete),
    )  # fmt: skip
    return Marks(
        made.cell, str(file), process.name, SCALE, process.lambda_nm / SCALE, tuple(pictures), joins, tuple(wires), (),
        contacts, tuple(transistors), tuple(ports), (box,),
    )  # fmt: skip


def rects_of(extraction, net):
    return [r for name, rects in extraction.net_shapes(net).items() if "diff" in name for r in rects]


def touching(rect, channel):
    return rect.touches(channel)


def photograph(folder, cell, process="silicon-gate-cmos", *, stages=False, **how):
    """Make a picture and its mark file in a folder; return the mark file."""
    made = specimen(cell, process)
    picture = Path(folder) / f"{cell}.png"
    photographed(made, picture)
    second = ""
    if stages:
        second = Path(folder) / f"{cell}-off.png"
        photographed(made, second, "metal off")
    marks = marked(made, picture, second=str(second), **how)
    path = Path(folder) / f"{cell}.marks.yaml"
    path.write_text(marks_text(marks), encoding="utf-8")
    return path
