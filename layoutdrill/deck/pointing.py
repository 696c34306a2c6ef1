"""
Point out on a page's picture what its text names: places by what lies there, transistors by the nets that they join.

Everything is found in the drawing itself, so that a letter stands on the right thing whatever the seed has drawn.
"""

from dataclasses import replace

from layoutdrill.deck.model import Picture
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.face.materials import Material
from layoutdrill.face.scene import groups
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.geometry.transform import Transform
from layoutdrill.netlist.model import Transistor
from layoutdrill.prove.faults import UNSEEN, DefectKind
from layoutdrill.question.model import Mark, Specimen
from layoutdrill.question.targets import is_load

PLACES = (
    "contact", "contact to poly", "contact to diffusion", "buried contact", "via", "crossing", "transistor", "tap",
    "crossunder", "defect", "resistor", "diode",
)  # fmt: skip
"""Places by what lies there. “where” and a defect is the same place on the sound drawing."""
DEVICES = ("transistors at ", "switch at ", "driver of ", "driver before ", "driver from ", "switch into ", "load")
"""How transistors are named: all but the load followed by a net that has a name, a port."""
DEFECTS = tuple(kind.value for kind in DefectKind if kind not in UNSEEN)
"""The defects that a picture can show; “of” and a port's name says on which net."""
WHERE = "where "
TAP_ON = "tap on "


def is_place(what: str) -> bool:
    """Tell whether this is a place that can be pointed out."""
    return what in PLACES or what.startswith(TAP_ON) or (what.startswith(WHERE) and is_defect(what.removeprefix(WHERE)))


def is_defect(what: str) -> bool:
    return what.partition(" of ")[0] in DEFECTS or what in DEFECTS


def are_devices(what: str) -> bool:
    return what.startswith(DEVICES)


def arranged(specimen: Specimen, picture: Picture) -> Specimen:
    """
    Return the picture's drawing with its defect, turned, and with letters at what is pointed out.

    Raises LayoutdrillError where there is no such thing, or the drawing cannot have the defect.
    """
    if not (picture.defect or picture.turn or picture.pointed):
        return specimen
    at: Rect | None = None
    sound = specimen
    if picture.defect:
        specimen, at = damaged(sound, picture.defect, picture)
    rects: dict[str, Rect] = {}
    channels: list[tuple[str, Rect]] = []
    for letter, what in picture.pointed:
        if are_devices(what):
            channels += _channels(sound, letter, what, picture)
        elif what.startswith(WHERE):
            rects[letter] = _to_ring(what.removeprefix(WHERE), damaged(sound, what.removeprefix(WHERE), picture)[1])
        elif what == "defect":
            if at is None:
                raise _missing("no defect is drawn here", picture, "give the picture a field “defect”")
            rects[letter] = _to_ring(picture.defect, at)
        else:
            rects[letter] = _nearest(specimen, what, rects, picture)
    if picture.turn:
        specimen, turn = _turned(specimen, picture.turn)
        rects = {letter: turn.rect(rect) for letter, rect in rects.items()}
        channels = [(letter, turn.rect(rect)) for letter, rect in channels]
    places = (Mark(letter, *rect.centre, ring=True) for letter, rect in rects.items())
    return replace(specimen, marks=(*places, *(Mark(letter, *rect.centre) for letter, rect in channels)))


def _channels(sound: Specimen, letter: str, what: str, picture: Picture) -> list[tuple[str, Rect]]:
    """Return the channels of the transistors that are named by the nets of the sound drawing, each with its letter."""
    names = devices_at(sound, what)
    if not names:
        raise _missing(f"no transistor is a “{what}” here", picture, "name a port of the cell")
    return [(letter, rect) for name in names for rect in sound.extraction.channel(name)[:1]]


def damaged(specimen: Specimen, what: str, picture: Picture) -> tuple[Specimen, Rect]:
    """Return a drawing with a defect that makes another circuit of it, and where it lies; the same one each time."""
    from layoutdrill.question.fault.trying import faulty_die, tried_defects  # noqa: PLC0415 - few pages show a defect

    kind, _, net = what.partition(" of ") if what not in DEFECTS else (what, "", "")
    dice = Dice.from_text(f"{picture.cell} {picture.process} {specimen.seed} {kind}")
    for tried in tried_defects(specimen, None, [DefectKind(kind)], dice, most=_MOST_TRIED):
        place = tried.defect.place
        if not net or net in {name for _, name in specimen.extraction.nets_at(*place.centre)}:
            return faulty_die(specimen, tried), place
    where = f" on the net “{net}”" if net else ""
    told = f"no {kind}{where} makes another circuit of {picture.cell} here"
    raise _missing(told, picture, "choose another seed or defect")


_MOST_TRIED = 60


def _to_ring(defect: str, place: Rect) -> Rect:
    """Return what of a defect is ringed: of a window its upper edge, as a wider one hides the edges."""
    if defect.startswith(DefectKind.WINDOW.value):
        return Rect(place.x0, place.y1, place.x1, place.y1 + 1)
    return place


def devices_at(specimen: Specimen, what: str) -> tuple[str, ...]:
    """Return the transistors that a form of words names, as DEVICES has them."""
    form = next(form for form in DEVICES if what.startswith(form))
    net, supplies = what.removeprefix(form), set(specimen.process.supplies)
    transistors = specimen.netlist.transistors

    def ends(t: Transistor) -> set[str]:
        return {t.source, t.drain}

    def drivers(nets: set[str]) -> list[Transistor]:
        return [t for t in transistors if ends(t) & nets and ends(t) & supplies]

    if form == "load":
        chosen = [t for t in transistors if is_load(t, specimen.process, specimen.netlist)]
    elif form == "switch at ":
        chosen = [t for t in transistors if net in ends(t) and not ends(t) & supplies]
    elif form == "driver of ":
        chosen = drivers({net})
    elif form == "driver before ":
        chosen = drivers({t.gate for t in drivers({net})} - supplies)
    elif form == "switch into ":
        back, chosen = {net}, []
        while back and not chosen:
            back = {t.gate for t in drivers(back)} - supplies - {net}
            chosen = [t for t in transistors if ends(t) & back and net not in ends(t) and not ends(t) & supplies]
    elif form == "driver from ":
        chosen = [t for t in transistors if t.gate == net and ends(t) & supplies]
    else:
        chosen = [t for t in transistors if net in ends(t) | {t.gate}]
    return tuple(t.name for t in chosen)


def named_devices(specimen: Specimen) -> tuple[tuple[str, str], ...]:
    """Return (transistor, letter) for all transistors that a page points out on its drawing."""
    at = ((specimen.extraction.transistor_at(m.x, m.y), m.letter) for m in specimen.marks if not m.ring)
    return tuple((name, letter) for name, letter in at if name is not None)


def _nearest(specimen: Specimen, what: str, taken: dict[str, Rect], picture: Picture) -> Rect:
    """Return the place of a sort nearest to those pointed out before it, else to the middle; each only once."""
    near = next(iter(taken.values()), specimen.face.box).centre
    left = [rect for rect in _places(specimen, what) if rect not in taken.values()]
    if not left:
        raise _missing(
            f"no {what} is left on this drawing", picture, "point out something else, or choose another seed"
        )
    return min(left, key=lambda r: (abs(r.centre[0] - near[0]) + abs(r.centre[1] - near[1]), r))


def _places(specimen: Specimen, what: str) -> list[Rect]:
    scene = specimen.face.scene
    if what == "crossing":
        return [crossing.rects[0] for crossing in scene.crossings if crossing.clean]
    if what == "transistor":
        return [rects[0] for rects in scene.channels.values()]
    if what == "buried contact":
        masks = [name for name, layer in scene.process.layers.items() if layer.role == "buried-contact"]
        shapes = [rect for name in masks for rect in scene.layout.shapes.get(name, ())]
        return [box for group in groups(shapes) if (box := bounding_box(group)) is not None]
    if what in ("resistor", "diode"):
        bodies = [specimen.extraction.channel(e.name) for e in specimen.netlist.elements if e.kind == what]
        return [max(body, key=lambda r: (r.width * r.height, r)) for body in bodies]
    if what == "crossunder":
        return [max(piece.rects, key=lambda r: (r.width * r.height, r)) for piece in scene.crossunders]
    if what == "tap" or what.startswith(TAP_ON):
        taps = [piece for piece in scene.pieces if piece.material is Material.TAP]
        return [piece.rects[0] for piece in taps if what in ("tap", f"{TAP_ON}{piece.net}")]
    below = {
        "via": (Material.METAL,),
        "contact to poly": (Material.POLY,),
        "contact to diffusion": (Material.DIFFUSION,),
    }.get(what, tuple(material for material in Material if material is not Material.METAL))
    return [joint.rect for joint in scene.joints if joint.material in below]


def _turned(specimen: Specimen, turn: int) -> tuple[Specimen, Transform]:
    """Return a drawing in one of the eight orientations, its lower left corner where it was, and what did it."""
    face, box = specimen.face, specimen.face.box
    plain = Transform(turns=turn % 4, mirrored=turn >= 4)
    now = plain.rect(box)
    whole = Transform(dx=box.x0 - now.x0, dy=box.y0 - now.y0, turns=plain.turns, mirrored=plain.mirrored)
    turned = DrawnFace.of(face.scene.layout.transformed(whole), face.process)
    return replace(specimen, face=turned, netlist=turned.extraction.netlist), whole


def _missing(what: str, picture: Picture, todo: str) -> LayoutdrillError:
    return LayoutdrillError(what, where=picture.where, todo=todo)
