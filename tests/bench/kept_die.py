"""
Photograph the dies of the deck that is kept for checking, and mark them with the tool.

`python -m tests.bench.kept_die FOLDER [NAME …]`. What makes them unlike any lesson: processes that no lesson shows in
these circuits, attic wear, another light each, a camera that stands a little turned, colours off, edges dark, grain.
Where each thing lies is known from the drawing; it is put down by the marking tools and their session, in the words
that an author types there, and what the marks spell must be the circuit that was drawn.
"""

import math
import sys
from pathlib import Path

from PIL import Image, ImageChops, ImageEnhance, ImageFilter

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.face.materials import Material
from layoutdrill.face.model import Light
from layoutdrill.face.scene import Wire
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.netlist.model import Mode
from layoutdrill.photo.looking import frame_of
from layoutdrill.photo.netlist import oddities
from layoutdrill.photo.session import MarkSession, begin, marks_path
from layoutdrill.photo.shapes import Shapes
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.screens.marking import TOOLS
from layoutdrill.value import value

SCALE = 8
LAYERS = {Material.METAL: "metal", Material.POLY: "poly", Material.DIFFUSION: "diffusion", Material.TAP: "tap"}


@value
class Shot:
    """A die to photograph: the circuit, and how the camera stood. `turn` in degrees; `cast` scales red, green, blue."""

    name: str
    cell: str
    process: str
    seed: int
    look: str
    turn: float
    cast: tuple[float, float, float]
    structure: str


SHOTS = (
    Shot("tide-gate", "nand3", "silicon-gate-cmos-pwell", 31, "dark-field", 1.1, (1.04, 0.97, 0.86), "NAND3"),
    Shot("lens-heater", "oai21", "metal-gate-cmos", 17, "reflected-light", -1.3, (0.92, 1.0, 1.08), "OAI21"),
    Shot("chart-lamp", "nor3", "metal-gate-pmos", 23, "dark-field", 0.9, (1.08, 0.98, 0.9), "NOR3"),
    Shot("horn-latch", "latch_static", "metal-gate-sapphire", 12, "both-lamps", -0.8, (0.95, 1.04, 0.96), "latch"),
)


class Camera:
    """Where a place of the drawing comes to lie on the photograph."""

    def __init__(self, view, process, shot, size):
        self.view, self.process = view, process
        self.angle = math.radians(shot.turn)
        self.middle = size[0] / 2, size[1] / 2

    def at(self, x, y):
        column, row = self.view.to_pixel(self.process, x, y)
        dx, dy = column - self.middle[0], row - self.middle[1]
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return self.middle[0] + cos * dx + sin * dy, self.middle[1] - sin * dx + cos * dy


def photographed(shot, path):
    """Take the picture; return the drawing and the camera."""
    made = drawn(load_cell(shot.cell), shot.process, shot.seed, 0.5)
    view = View.whole(made.face.layout, made.process, SCALE, margin=4)
    image = made.face.image(view, Light(load_look(shot.look), shot.seed, 1.0)).convert("RGB")
    camera = Camera(view, made.process, shot, image.size)
    edge = image.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
    image = image.rotate(shot.turn, Image.Resampling.BICUBIC, fillcolor=edge)
    image = Image.merge(
        "RGB",
        [band.point(lambda v, f=f: min(255, int(v * f))) for band, f in zip(image.split(), shot.cast, strict=True)],
    )
    wide, high = image.size
    fall = Image.radial_gradient("L").resize((wide, high)).point(lambda v: 255 - int(0.35 * v))
    image = ImageChops.multiply(image, Image.merge("RGB", [fall] * 3))
    grain = Image.effect_noise((wide, high), 14).convert("RGB")
    image = ImageChops.add(image, grain, 1, -128).filter(ImageFilter.GaussianBlur(0.8))
    ImageEnhance.Contrast(image).enhance(0.92).save(path, quality=82)
    return made, camera


def marks_of(made, camera, shot):
    """Return what an author would put down: each a tool, its places, and the words typed."""
    scene, unit = made.face.scene, made.process.grid_per_lambda
    pixel = SCALE / unit
    marks = []
    for t in scene.extraction.netlist.transistors:
        box = bounding_box(scene.channels[t.name])
        ends = [next(r for r in near(scene, box) if r.net == end) for end in t.ends]
        (ax, ay), (bx, by) = (middle_beside(box, wire.rect, unit) for wire in ends)
        along = abs(ax - bx) >= abs(ay - by)
        long, wide = (box.width, box.height) if along else (box.height, box.width)
        kind = t.kind.value + ("d" if t.mode is Mode.DEPLETION else "")
        words = f"{kind} {t.gate} {t.ends[0]} {t.ends[1]} {round(long * pixel)} {round(wide * pixel)}"
        marks.append(("transistor", (camera.at(*box.centre), camera.at(ax, ay), camera.at(bx, by)), words))
    known = {net for t in scene.extraction.netlist.transistors for net in (t.gate, *t.ends)}
    strips = dict.fromkeys(strip for piece in scene.pieces for strip in strips_of(piece, 2 * unit))
    for wire in strips:
        layer = LAYERS.get(wire.material)
        if layer is not None and wire.net in known:  # what only passes by is no part of the circuit
            r = wire.rect
            half = min(r.width, r.height) / 2
            ends = (
                ((r.x0 + half, r.centre[1]), (r.x1 - half, r.centre[1]))
                if r.width >= r.height
                else ((r.centre[0], r.y0 + half), (r.centre[0], r.y1 - half))
            )
            marks.append(
                ("wire", tuple(camera.at(*end) for end in ends), f"{wire.net} {layer} {round(2 * half * pixel)}")
            )
    for joint in scene.joints:
        upper, lower = LAYERS[scene.materials[joint.upper]], LAYERS.get(joint.material, "diffusion")
        size = round(min(joint.rect.width, joint.rect.height) * pixel)
        if upper != lower and joint.net in known:
            marks.append(("contact", (camera.at(*joint.rect.centre),), f"{joint.net} {upper} {lower} {size}"))
    roles = {port.name: port.role.value for port in made.ports}
    places = {label.text: camera.at(label.x, label.y) for label in scene.labels}
    apart = ("supply", "unused")
    marks += [("port", (places[net],), f"{net} {role}") for net, role in roles.items() if role not in apart]
    wide, high = (round(2 * middle) for middle in camera.middle)
    marks.append(
        ("region", ((3, 3), (wide - 3, high - 3)), f"{shot.name.replace('-', '_')}, {shot.structure}, contacts")
    )
    return marks


def strips_of(piece, least):
    """Yield the longest stretches of a piece, each as wide as it lies: what one would draw along with the mouse."""
    for rect in piece.rects:
        for along_x in (True, False):
            strip = stretched(rect, piece.rects, along_x=along_x)
            if min(strip.width, strip.height) >= least:
                yield Wire(strip, piece.conductor, piece.material, piece.net)


def stretched(rect, rects, *, along_x):
    """Lengthen a rectangle while others of its piece go on beside it over its whole width."""
    grown = True
    while grown:
        grown = False
        for other in rects:
            wide = other.x0 <= rect.x0 and other.x1 >= rect.x1
            high = other.y0 <= rect.y0 and other.y1 >= rect.y1
            if not (high if along_x else wide) or not other.touches(rect):
                continue
            x = (min(rect.x0, other.x0), max(rect.x1, other.x1)) if along_x else (rect.x0, rect.x1)
            y = (rect.y0, rect.y1) if along_x else (min(rect.y0, other.y0), max(rect.y1, other.y1))
            longer = Rect(x[0], y[0], x[1], y[1])
            grown, rect = grown or longer != rect, longer
    return rect


def oddities_of(session, shot):
    """Return what the tool finds odd about its marks."""
    marks, process = session.marks, load_process(shot.process)
    return oddities(marks, Shapes(marks, process, frame_of(marks)), process)


def near(scene, box):
    return [wire for wire in scene.wires if wire.material is Material.DIFFUSION and wire.rect.touches(box)]


def middle_beside(box, rect, unit):
    """Return a place in the diffusion beside a channel, a little way off its edge."""
    off = round(1.5 * unit)
    low_x, high_x, low_y, high_y = (
        max(box.x0, rect.x0),
        min(box.x1, rect.x1),
        max(box.y0, rect.y0),
        min(box.y1, rect.y1),
    )
    x, y = (low_x + high_x) / 2, (low_y + high_y) / 2
    if rect.x1 <= box.x0:
        return max(box.x0 - off, (rect.x0 + rect.x1) / 2), y
    if rect.x0 >= box.x1:
        return min(box.x1 + off, (rect.x0 + rect.x1) / 2), y
    if rect.y1 <= box.y0:
        return x, max(box.y0 - off, (rect.y0 + rect.y1) / 2)
    return x, min(box.y1 + off, (rect.y0 + rect.y1) / 2)


def main(folder, names):
    folder.mkdir(parents=True, exist_ok=True)
    for shot in SHOTS:
        if names and shot.name not in names:
            continue
        picture = folder / f"{shot.name}.jpg"
        path = marks_path(picture)
        path.unlink(missing_ok=True)
        made, camera = photographed(shot, picture)
        begin(path, picture, shot.process, SCALE)
        marks = marks_of(made, camera, shot)
        print(f"{shot.name}: {len(marks)} marks, {picture.stat().st_size // 1024} KB", flush=True)
        session = MarkSession(path)
        for tool, places, words in marks:
            session.add(TOOLS[tool].make(places, words))
        for odd in oddities_of(session, shot):
            print("odd:", odd.text)


if __name__ == "__main__":
    main(Path(sys.argv[1]), [name for name in sys.argv[2:] if not name.startswith("-")])
