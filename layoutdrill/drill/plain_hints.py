"""Tell a step of help in plain text: what the picture would outline, as places and names."""

from collections.abc import Collection
from textwrap import wrap

from layoutdrill.face import DrawnFace
from layoutdrill.face.lettered import WIDTH, Letters, joined
from layoutdrill.face.listed import pieces_of
from layoutdrill.face.materials import Material
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.question import HintStep, Question, Specimen, Verdict

_MOST_PLACES = 12


def hint_lines(step: HintStep, specimen: Specimen, text: str = "", letters: Letters | None = None) -> list[str]:
    """Return the lines that tell a step; `text` is what the hint itself says, `letters` those given before."""
    match step:
        case HintStep.RAILS:
            return _rails(specimen)
        case HintStep.DEVICES:
            return _devices(specimen)
        case HintStep.NETS:
            return _nets(specimen)
        case HintStep.LIFT_METAL:
            return [
                "With the metal lifted off:",
                *specimen.face.grid_lines(specimen.face.metal, letters),
            ]
        case HintStep.NETLIST:
            return ["The netlist:", *_netlist(specimen)]
        case HintStep.WORDS | HintStep.AID:
            return wrap(text, WIDTH)


def outlined_lines(question: Question, verdict: Verdict) -> list[str]:
    """
    Return the lines that tell what a picture would outline after a mistake: where the right answer lies. Lettered
    places have been told with the question.
    """
    specimen = question.specimen
    unit = specimen.face.unit
    if verdict.areas:
        return _told("Right places", [unit.span(rect) for rect in joined(verdict.areas)][:_MOST_PLACES])
    if question.marks:
        return []
    if verdict.places:
        return _told("They are at", [unit.axes(x, y) for x, y in verdict.places])
    return _devices(specimen, set(verdict.transistors)) if verdict.transistors else []


def _rails(specimen: Specimen) -> list[str]:
    lines = ["The supplies:"]
    for rail, level in specimen.process.rail_levels.items():
        if rail in specimen.netlist.nets:
            name = f"{rail}, the {'high' if level else 'low'} rail"
            name = f"{rail}, which feeds gates of loads" if rail == specimen.process.gate_supply else name
            lines.extend(_told(name, _pieces(specimen, rail) or _places(specimen, rail)))
    return lines if len(lines) > 1 else ["No supply reaches this drawing."]


def _pieces(specimen: Specimen, net: str) -> list[str]:
    """
    Return a net's pieces of metal, by their numbers in the list of shapes and where each lies, and its taps; none
    without such a list.
    """
    face = specimen.face
    if not isinstance(face, DrawnFace):
        return []
    scene = face.scene
    wires = [wire for wire in scene.wires if wire.net == net and wire.material in (Material.METAL, Material.TAP)]
    named = []
    for layer, pieces in pieces_of(face.layout, specimen.process).items():
        if layer in face.metal:
            mine = [wire.rect for wire in wires if wire.conductor == layer]
            title = specimen.process.layers[layer].title
            for number, piece in enumerate(pieces, 1):
                if any(a.overlaps(b) for a in piece for b in mine):
                    widest = max(piece, key=lambda rect: (rect.area, rect))
                    named.append(f"piece {number} of {title} ({face.unit.span(widest)})")
    taps = [f"tap {face.unit.span(wire.rect)}" for wire in wires if wire.material is Material.TAP]
    return [*named, *taps]


def _devices(specimen: Specimen, among: Collection[str] | None = None) -> list[str]:
    unit = specimen.face.unit
    lines = ["The channels of the transistors:"]
    for name, number in devices_overlay(specimen.extraction, specimen.netlist).transistors:
        if among is not None and name not in among:
            continue
        rects = joined(specimen.extraction.channel(name))
        what = f" ({_role_told(specimen, name)})" if among is not None else ""  # a verdict may say what each of them is
        lines.extend(_told(f"{number}{what}", [unit.span(rect) for rect in rects]))
    return lines


def _role_told(specimen: Specimen, name: str) -> str:
    """Say a transistor's kind, its gate and its ends, by the names of the nets."""
    device = next(t for t in specimen.netlist.transistors if t.name == name)
    return f"{device.kind}, gate {device.gate}, {' to '.join(device.ends)}"


def _nets(specimen: Specimen) -> list[str]:
    lines = ["The nets, numbered:"]
    for number, net in enumerate(specimen.netlist.nets, 1):
        lines.extend(_told(f"net {number}", _places(specimen, net)))
    return lines


def net_lines(specimen: Specimen, net: str) -> list[str]:
    """Return the lines that tell where one net runs, by its name."""
    return _told(f"Net {net}", _places(specimen, net))


def _places(specimen: Specimen, net: str) -> list[str]:
    """Return where a net runs, by material; cuts are left out, as they lie within it, and so are wells."""
    unit = specimen.face.unit
    material = specimen.face.scene.materials
    lines: list[str] = []
    for name, shapes in specimen.extraction.net_shapes(net).items():
        if name in material and material[name] is not Material.WELL:
            lines.extend(f"{material[name].value} {unit.span(rect)}" for rect in joined(shapes))
    return lines


def _netlist(specimen: Specimen) -> list[str]:
    """Return one line a transistor, nets numbered so that no name of a port gives the structure away."""
    netlist = specimen.netlist
    rails = specimen.process.rail_levels
    names = {net: net if net in rails else f"net {n}" for n, net in enumerate(netlist.nets, 1)}
    lines: list[str] = []
    numbers = dict(devices_overlay(specimen.extraction, netlist).transistors)
    for device in sorted(netlist.transistors, key=lambda t: int(numbers.get(t.name, 0))):
        number = numbers.get(device.name, "beside")
        ends = " and ".join(names[end] for end in device.ends)
        lines.extend(wrap(f"{number}: {device.kind}, gate on {names[device.gate]}, between {ends}", WIDTH))
    return lines


def _told(name: str, places: list[str]) -> list[str]:
    return wrap(f"{name}: " + "; ".join(places), WIDTH, subsequent_indent="   ", break_on_hyphens=False)
