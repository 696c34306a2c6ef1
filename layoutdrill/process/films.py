"""
Read the films of a process: what stack of films lies at each kind of place, and which metals run over them.

A picture computes colours and steps from this section; nothing else in the package reads it.
"""

from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

from layoutdrill.brought import is_brought
from layoutdrill.process.expression import Expression, Name, names_in, parse_expression
from layoutdrill.process.film_defaults import default_films
from layoutdrill.process.load import DATA, load_process, process_file
from layoutdrill.process.model import Process
from layoutdrill.process.terms import Kind
from layoutdrill.value import value
from layoutdrill.yamldoc import Node, load, loads

MATERIALS = ("oxide", "nitride", "silicon", "poly", "sapphire", "aluminium", "titanium-nitride")
BASES = ("silicon", "sapphire")
MOST_LAYERS = 8
"""Mask layers that one list of places may look at: a pixel keeps them as the bits of a byte."""


@value
class Film:
    """One film of a stack, its thickness in nm."""

    material: str
    nm: float


@value
class Place:
    """
    A kind of place: where `where` holds (everywhere for None), `films` lie on the base, lowest first.

    `height` of the surface in nm (the sum of the films unless given); `shade` is the share of the light that comes
    back to the lens (rough poly scatters some away), `metal_shade` the same for metal that lies on this place (alloyed
    in a contact; it counts in the tracing aid alone). `fades` names a later place: oxide grown here in the same step as
    there differs from it, by lots, from as the films say down to nearly nothing.
    """

    name: str
    where: Expression | None
    films: tuple[Film, ...]
    height: float
    shade: float
    metal_shade: float
    fades: str = ""


@value
class Metal:
    """
    One opaque layer of wiring, `nm` thick on `insulator` nm of oxide above what lies below.

    Where the mask layers `holes` are drawn its surface dips by `dip` nm. `hole_shade` and `curve` count in the tracing
    aid alone: how dark a hole is, and the power of its depth by which metal darkens.
    """

    layer: str
    material: str
    nm: float
    insulator: float
    shade: float
    holes: tuple[str, ...]
    dip: float
    hole_shade: float
    curve: float


@value
class Junction:
    """A doping that reaches from the surface of the silicon `nm` down, where `where` holds; `source` of the figure."""

    name: str
    where: Expression
    kind: Kind
    nm: float
    source: str


@value
class Films:
    """
    The whole section. `planar`: the surface is levelled before each metal, so that no buried step shows in it.

    `places` are tried in order, the last holds everywhere; `metals` from the lowest; `vary` is the spread of
    thicknesses from lot to lot, as a fraction. The pairs of places in `apart` meet, and must differ in brightness and
    hue; those in `hues` only in hue. Of the pairs in `either` now the one and now the other has the first one's films:
    which doping grows the thicker oxide hangs on a lot's furnace. `junctions` are the dopings in the silicon, wells
    before what lies in them.
    """

    base: str
    planar: bool
    places: tuple[Place, ...]
    metals: tuple[Metal, ...]
    vary: float
    apart: tuple[tuple[str, str], ...] = ()
    hues: tuple[tuple[str, str], ...] = ()
    either: tuple[tuple[str, str], ...] = ()
    junctions: tuple[Junction, ...] = ()

    def layers(self, process: Process) -> tuple[str, ...]:
        """Return the mask layers that decide a place, in the process's order."""
        wheres = [place.where for place in self.places if place.where is not None]
        used = {name for where in wheres for name in mask_names(process, where)}
        return tuple(name for name in process.layers if name in used)


def mask_names(process: Process, expression: Expression) -> Iterator[str]:
    """Yield the mask layers an expression rests on, through regions."""
    for name in names_in(expression):
        if name in process.layers:
            yield name
        else:
            yield from mask_names(process, process.regions[name])


def holds(process: Process, expression: Expression, drawn: Mapping[str, bool]) -> bool:
    """Tell whether a point lies in the expression's area, given which mask layers are drawn there."""
    if isinstance(expression, Name):
        if expression.name in process.regions:
            return holds(process, process.regions[expression.name], drawn)
        return drawn.get(expression.name, False)
    left = holds(process, expression.left, drawn)
    if expression.operator == "&":
        return left and holds(process, expression.right, drawn)
    if expression.operator == "|":
        return left or holds(process, expression.right, drawn)
    return left and not holds(process, expression.right, drawn)


@lru_cache(maxsize=32)
def _load(file: str, name: str) -> Films:
    path = process_file(name) if is_brought(name) else Path(file)  # the one first met may be gone
    if not path.is_absolute() and path.parts[:3] == ("layoutdrill", "process", "data"):
        path = DATA / path.name
    process = load_process(name if is_brought(name) else path.stem if path.parent == DATA else str(path))
    node = load(path, name=file).root.mapping().get("films")
    if node is None:
        node = loads(default_films(process), f"{file} (films of the family)").root
    return read_films(node, process)


def load_films(process: Process) -> Films:
    """
    Return the films of a process, or those common to its family where it states none.

    Raises LayoutdrillError with its place where the section is wrong.
    """
    return _load(process.where.file, process.name)


def read_films(node: Node, process: Process) -> Films:
    """Read the section, checking every layer, region and material."""
    fields = node.fields(("base", "surface", "places", "metals"), ("vary", "apart", "hues", "either", "junctions"))
    known = (*process.layers, *process.regions)
    places = []
    nodes = fields["places"].items()
    for i, item in enumerate(nodes):
        places.append(_place(item, known, last=i == len(nodes) - 1))
    names = [place.name for place in places]
    for item, place in zip(nodes, places, strict=True):
        if place.fades:
            _fading(item.fields((), tuple(item.mapping()))["fades"], place, places)

    def meeting(key: str) -> tuple[tuple[str, str], ...]:
        return tuple(_pair(item, names) for item in fields[key]) if key in fields else ()

    films = Films(
        base=fields["base"].word(BASES, "base"),
        planar=fields["surface"].word(("conformal", "planar"), "surface") == "planar",
        places=tuple(places),
        metals=tuple(_metal(item, tuple(process.layers)) for item in fields["metals"]),
        vary=fields["vary"].number(0, 0.2) if "vary" in fields else 0.05,
        apart=meeting("apart"),
        hues=meeting("hues"),
        either=meeting("either"),
        junctions=tuple(_junction(item, known) for item in fields["junctions"]) if "junctions" in fields else (),
    )
    if len(films.layers(process)) > MOST_LAYERS:
        fields["places"].fail(
            f"the places look at {len(films.layers(process))} mask layers", f"use {MOST_LAYERS} at most"
        )
    return films


def _fading(node: Node, place: Place, places: list[Place]) -> None:
    """Check that a place fades into one of the same materials, so that their thicknesses can be mixed."""
    node.word([other.name for other in places if other is not place], "place")
    into = next(other for other in places if other.name == place.fades)
    if [film.material for film in into.films] != [film.material for film in place.films]:
        node.fail(f'"{place.name}" and "{into.name}" have films of other materials', "let it fade into a like place")


def _pair(node: Node, names: list[str]) -> tuple[str, str]:
    both = [item.word(names, "place") for item in node.items()]
    if len(both) != 2:
        node.fail("two places expected", "write them as [gate, field]")
    return both[0], both[1]


def _place(node: Node, known: tuple[str, ...], *, last: bool) -> Place:
    fields = node.fields(("name", "films"), ("where", "height", "shade", "metal_shade", "fades"))
    where: Expression | None = None
    if "where" in fields:
        where = parse_expression(fields["where"], known)
        if last:
            fields["where"].fail("the last place must hold everywhere", 'leave its "where" out: it is the bare field')
    elif not last:
        node.fail('field "where" is missing', "say by layers and regions where this place is, as “active & poly”")
    films = tuple(_film(item) for item in fields["films"])
    return Place(
        name=fields["name"].text(),
        where=where,
        films=films,
        height=fields["height"].number(0, 5000) if "height" in fields else sum(f.nm for f in films),
        shade=fields["shade"].number(0.05, 1) if "shade" in fields else 1.0,
        metal_shade=fields["metal_shade"].number(0.05, 1) if "metal_shade" in fields else 1.0,
        fades=fields["fades"].text() if "fades" in fields else "",
    )


def _junction(node: Node, known: tuple[str, ...]) -> Junction:
    fields = node.fields(("name", "where", "kind", "nm", "source"))
    return Junction(
        name=fields["name"].text(),
        where=parse_expression(fields["where"], known),
        kind=Kind(fields["kind"].word(tuple(Kind), "kind")),
        nm=fields["nm"].number(1, 50_000),
        source=fields["source"].text(),
    )


def _film(node: Node) -> Film:
    material, _, thickness = node.text().partition(" ")
    if material not in MATERIALS or not thickness.strip().isdigit():
        node.fail(
            f'"{node.text()}" is no film', f'write material and nm, as "oxide 700"; materials: {", ".join(MATERIALS)}'
        )
    return Film(material, int(thickness))


def _metal(node: Node, layers: tuple[str, ...]) -> Metal:
    fields = node.fields(("layer", "nm"), ("material", "insulator", "shade", "holes", "dip", "hole_shade", "curve"))

    def number(key: str, default: float, high: float) -> float:
        return fields[key].number(0, high) if key in fields else default

    return Metal(
        layer=fields["layer"].word(layers, "layer"),
        material=fields["material"].word(MATERIALS, "material") if "material" in fields else "aluminium",
        nm=fields["nm"].number(10, 5000),
        insulator=number("insulator", 0, 5000),
        shade=number("shade", 0.8, 1),
        holes=tuple(item.word(layers, "layer") for item in fields["holes"]) if "holes" in fields else (),
        dip=number("dip", 0, 5000),
        hole_shade=number("hole_shade", 1, 1),
        curve=number("curve", 2, 6),
    )
