"""Read a process from its YAML file, checking every name against what it must refer to."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from layoutdrill.brought import file_of, is_brought
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.process.design_rules import read_rules
from layoutdrill.process.drawing_section import read_drawing
from layoutdrill.process.expression import Expression, names_in, parse_expression
from layoutdrill.process.model import (
    SUBSTRATE,
    Conductor,
    Cut,
    ElementRule,
    MaskLayer,
    PatchRule,
    Process,
    StripRule,
    TransistorRule,
)
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.yamldoc import Node, load

DATA = Path(__file__).parent / "data"

ROLES = (
    "well",
    "active",
    "n-doping",
    "p-doping",
    "implant",
    "thin-oxide",
    "buried-contact",
    "poly",
    "local-metal",
    "metal",
    "metal-2",
    "upper-metal",
    "contact",
    "via",
    "glass-opening",
    "marker",
)
"""What a mask layer is to a picture."""

MOST_LAYERS, MOST_REGIONS = 100, 100
HEAVIEST = 1_000
FINEST = 1_000
"""Bounds of a process file, which may come from anybody; those that ship have 14 layers and 15 regions."""

_KEYS = ("name", "title", "about", "grid", "layers", "regions", "conductors", "cuts", "transistors")
_MORE = ("tell", "supplies", "gate supply", "elements", "rules", "drawing", "films")


def process_names() -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in DATA.glob("*.yaml")))


@cache
def load_process(name: str) -> Process:
    """Return a process by name, or from a path that ends in .yaml; one that a deck brought goes by its own name."""
    path = process_file(name)
    shown = str(path) if path.parent != DATA else f"layoutdrill/process/data/{path.name}"
    process = _process(load(path, name=shown).root)
    return replace(process, name=name) if is_brought(name) else process


def process_file(name: str) -> Path:
    """Return the file of a process. Raises LayoutdrillError for a name that is not known."""
    if is_brought(name):
        return file_of(name)
    path = Path(name) if name.endswith((".yaml", ".yml")) else DATA / f"{name}.yaml"
    if path.parent == DATA and not path.is_file():
        raise LayoutdrillError(f'no process "{name}"', todo=did_you_mean(name, process_names()))
    return path


def _process(root: Node) -> Process:
    fields = root.fields(_KEYS, _MORE)
    grid = fields["grid"].fields(("nm", "per_lambda"))
    per_lambda = grid["per_lambda"].integer(1, FINEST)
    for key, most in (("layers", MOST_LAYERS), ("regions", MOST_REGIONS)):
        if len(fields[key].mapping()) > most:
            fields[key].fail(f"more than {most} {key}", "leave out what nothing is made of")
    layers = {name: _layer(name, node) for name, node in fields["layers"].mapping().items()}
    known = tuple(layers)
    regions: dict[str, Expression] = {}
    weight: dict[str, int] = {}  # how many layers each is made of, written out
    for name, node in fields["regions"].mapping().items():
        if name in known:
            node.fail(f'"{name}" is a layer or region already', "choose another name")
        regions[name] = parse_expression(node, known)
        names = tuple(names_in(regions[name]))
        weight[name] = sum(weight.get(part, 1) for part in names)
        if weight[name] > HEAVIEST:
            node.fail(f"written out, this region has more than {HEAVIEST:,} layers", "make it of fewer others")
        known = (*known, name)
    conductors = {}
    places = dict(fields["conductors"].key_places)
    for name, node in fields["conductors"].mapping().items():
        if name not in known and name != SUBSTRATE:
            raise LayoutdrillError(f'no layer or region "{name}"', where=places[name], todo=did_you_mean(name, known))
        labels = () if node.value is None else tuple(item.word(tuple(layers), "layer") for item in node.items())
        conductors[name] = Conductor(name, labels)
    low, high = _supplies(fields["supplies"]) if "supplies" in fields else ("VSS", "VDD")
    rules = read_rules(fields["rules"], known, per_lambda) if "rules" in fields else {}
    roles = {layer.name: layer.role for layer in layers.values()}
    marked = fields["elements"].items() if "elements" in fields else ()
    devices = [_element(node, known, tuple(conductors), grid["per_lambda"].integer(1)) for node in marked]
    return Process(
        name=fields["name"].text(),
        title=fields["title"].text(),
        about=fields["about"].text().strip(),
        tell=fields["tell"].text().strip() if "tell" in fields else "",
        grid_nm=grid["nm"].number(0.001),
        grid_per_lambda=per_lambda,
        layers=layers,
        regions=regions,
        conductors=conductors,
        cuts=tuple(_cut(node, tuple(layers), tuple(conductors)) for node in fields["cuts"]),
        transistors=tuple(_transistor(node, known, tuple(conductors)) for node in fields["transistors"]),
        elements=tuple(rule for rule in devices if isinstance(rule, ElementRule)),
        strips=tuple(rule for rule in devices if isinstance(rule, StripRule)),
        patches=tuple(rule for rule in devices if isinstance(rule, PatchRule)),
        supplies=(low, high),
        where=root.where,
        rules=rules,
        drawing=read_drawing(fields["drawing"], roles, rules) if "drawing" in fields else None,
        gate_supply=fields["gate supply"].text() if "gate supply" in fields else "",
    )


def _supplies(node: Node) -> tuple[str, str]:
    names = tuple(item.text() for item in node.items())
    if len(names) != 2:
        node.fail("two supplies expected", 'write the lower and the higher, as in "[VSS, VDD]"')
    return names[0], names[1]


def _gds(node: Node) -> tuple[int, int]:
    layer, slash, datatype = node.text().partition("/")
    if not (slash and layer.isdigit() and datatype.isdigit()):
        node.fail("a GDSII layer and datatype expected", 'write them as "66/20"')
    return int(layer), int(datatype)


def _layer(name: str, node: Node) -> MaskLayer:
    fields = node.fields(("title", "role"), ("gds", "label_gds"))
    return MaskLayer(
        name=name,
        title=fields["title"].text(),
        role=fields["role"].word(ROLES, "role"),
        gds=_gds(fields["gds"]) if "gds" in fields else None,
        label_gds=tuple(_gds(item) for item in fields["label_gds"]) if "label_gds" in fields else (),
    )


def _cut(node: Node, layers: tuple[str, ...], conductors: tuple[str, ...]) -> Cut:
    fields = node.fields(("upper", "lower"), ("layer",))
    places = (*conductors, SUBSTRATE)
    return Cut(
        layer=fields["layer"].word(layers, "layer") if "layer" in fields else None,
        upper=fields["upper"].word(conductors, "conductor"),
        lower=tuple(item.word(places, "conductor") for item in fields["lower"]),
    )


def _transistor(node: Node, known: tuple[str, ...], conductors: tuple[str, ...]) -> TransistorRule:
    fields = node.fields(("kind", "channel", "gate", "ends"), ("mode", "body"))
    return TransistorRule(
        kind=Kind(fields["kind"].word([k.value for k in Kind], "kind")),
        mode=Mode(fields["mode"].word([m.value for m in Mode], "mode")) if "mode" in fields else Mode.ENHANCEMENT,
        channel=fields["channel"].word(known, "layer or region"),
        gate=fields["gate"].word(conductors, "conductor"),
        ends=fields["ends"].word(conductors, "conductor"),
        body=fields["body"].word((*conductors, SUBSTRATE), "conductor") if "body" in fields else None,
    )


def _element(
    node: Node, known: tuple[str, ...], conductors: tuple[str, ...], per_lambda: int
) -> ElementRule | StripRule | PatchRule:
    """Read a device that is marked (`body`), or known by its form: a long `strip`, or a broad `patch`."""
    form = next((form for form in ("strip", "patch") if form in node.mapping()), "")
    if form == "strip":
        fields = node.fields(("kind", "model", "strip", "squares"))
        fields["kind"].word(("resistor",), "kind of strip")
        of = fields["strip"].word(conductors, "conductor")
        return StripRule(fields["model"].text(), of, fields["squares"].integer(2))
    if form == "patch":
        fields = node.fields(("kind", "model", "patch", "under", "side"))
        fields["kind"].word(("diode",), "kind of patch")
        of = fields["patch"].word(conductors, "conductor")
        under = fields["under"].word((*conductors, SUBSTRATE), "conductor")
        return PatchRule(fields["model"].text(), of, under, fields["side"].integer(1) * per_lambda)
    fields = node.fields(("kind", "model", "body", "ends"), ("under",))
    return ElementRule(
        kind=fields["kind"].word(("resistor", "diode", "capacitor"), "kind"),
        model=fields["model"].text(),
        body=fields["body"].word(known, "layer or region"),
        ends=fields["ends"].word(conductors, "conductor"),
        under=fields["under"].word((*conductors, SUBSTRATE), "conductor") if "under" in fields else None,
    )
