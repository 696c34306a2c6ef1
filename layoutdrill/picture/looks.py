"""A look: how a layout is shown. Each is a YAML file under `art/looks`, to which an author can add."""

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Final

from layoutdrill.brought import file_of, is_brought
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.locations import shipped
from layoutdrill.picture.colour import RGB, parse_colour
from layoutdrill.process.load import ROLES
from layoutdrill.value import value
from layoutdrill.yamldoc import Node, load


class Style(StrEnum):
    """The ways of making a picture; a look sets the values of one."""

    FLAT = "flat"  # coloured films or paint, each layer in turn
    REFLECTED = "reflected"  # bright field: film optics and slopes, light through the lens itself
    DARK_FIELD = "dark field"  # light from all sides past the lens: slopes shine, what is flat is black
    TRANSMITTED = "transmitted"  # light through a clear substrate
    BOTH = "both lamps"  # light from above and through a clear substrate at once
    HATCHED = "hatched"  # ink on paper


PHOTOGRAPHIC = (Style.REFLECTED, Style.DARK_FIELD, Style.TRANSMITTED, Style.BOTH)
"""The styles that a microscope gives; the others are drawn."""
FROM_BELOW = (Style.TRANSMITTED, Style.BOTH)
"""The styles that send light through the die: they need a clear base."""


class Hatch(StrEnum):
    """The strokes that fill an area in ink. `SOLID` and `NONE` are the ends of the scale."""

    NONE = "none"
    RISING = "rising"
    FALLING = "falling"
    LEVEL = "level"
    UPRIGHT = "upright"
    DOTS = "dots"
    CROSSED = "crossed"
    SOLID = "solid"


@value
class Paint:
    """
    One step of a flat or hatched picture: the shapes of `role` where every role of `over` and none of
    `off` is drawn too.

    `tint` multiplies what is there, `fill` replaces it (with `cover` below 1 as a veil); `hatch` (spacing and stroke
    in λ) and `edge` (width in λ, 0 for none) are drawn in `ink`; on pictures too small for strokes the fill `grey`
    takes the hatch's place.
    """

    role: str
    over: tuple[str, ...] = ()
    off: tuple[str, ...] = ()
    tint: RGB | None = None
    fill: RGB | None = None
    cover: float = 1.0
    hatch: Hatch = Hatch.NONE
    spacing: float = 1.0
    stroke: float = 0.2
    edge: float = 0.0
    ink: RGB = (0, 0, 0)
    grey: RGB | None = None


@value
class Look:
    """
    A look. `ground` is the colour of the bare die or paper; `paints` are laid one after another from the lowest;
    `settings` are the numbers of a photographic style, each with a default in that style's module.
    """

    name: str
    title: str
    about: str
    style: Style
    ground: RGB
    paints: tuple[Paint, ...]
    settings: Mapping[str, float]


SETTINGS: Final = {
    "exposure": (0.2, 4.0),
    "flare": (0.0, 0.2),
    "warmth": (0.0, 1.0),
    "blur": (0.0, 2.0),
    "grain": (0.0, 30.0),
    "vignette": (0.0, 0.6),
}
"""The numbers a photographic look may set, with their bounds."""

_TEXTS = ("name", "title", "about", "style")
_PAINT = ("over", "off", "tint", "fill", "cover", "hatch", "spacing", "stroke", "edge", "ink", "grey")


def look_folder() -> Path:
    return shipped("art") / "looks"


def look_names() -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in look_folder().glob("*.yaml")))


@cache
def load_look(name: str) -> Look:
    """Return a look by name, or from a path that ends in .yaml; errors carry file, line and column."""
    if is_brought(name):
        return replace(_look(load(file_of(name)).root), name=name)
    if name.endswith((".yaml", ".yml")):
        return _look(load(Path(name)).root)
    path = look_folder() / f"{name}.yaml"
    if name != path.stem or not path.is_file():
        raise LayoutdrillError(f'no look "{name}"', todo=did_you_mean(name, look_names()))
    return _look(load(path, name=f"art/looks/{path.name}").root)


def _look(root: Node) -> Look:
    fields = root.fields(_TEXTS, ("ground", "paints", "settings"))
    style = Style(fields["style"].word([s.value for s in Style], "style"))
    painted = style in (Style.FLAT, Style.HATCHED)
    if painted and "paints" not in fields:
        root.fail(f'a {style} look needs "paints"', 'add a list "paints:" of layers from the lowest to the top')
    if not painted and "paints" in fields:
        fields["paints"].fail(f'a {style} look takes its colours from the films: no "paints"', "remove the list")
    if painted and "settings" in fields:
        fields["settings"].fail(f'a {style} look has no "settings"', "remove them")
    settings = {}
    if "settings" in fields:
        for key, node in fields["settings"].fields((), tuple(SETTINGS)).items():
            settings[key] = node.number(*SETTINGS[key])
    return Look(
        name=fields["name"].text(),
        title=fields["title"].text(),
        about=fields["about"].text().strip(),
        style=style,
        ground=parse_colour(fields["ground"]) if "ground" in fields else (255, 255, 255),
        paints=tuple(_paint(node) for node in fields["paints"]) if "paints" in fields else (),
        settings=settings,
    )


def _paint(node: Node) -> Paint:
    fields = node.fields(("role",), _PAINT)

    def roles(key: str) -> tuple[str, ...]:
        return tuple(item.word(ROLES, "role") for item in fields[key]) if key in fields else ()

    def colour(key: str) -> RGB | None:
        return parse_colour(fields[key]) if key in fields else None

    def number(key: str, default: float, low: float, high: float) -> float:
        return fields[key].number(low, high) if key in fields else default

    if "tint" in fields and "fill" in fields:
        fields["fill"].fail('a paint has either "tint" or "fill"', "remove one")
    return Paint(
        role=fields["role"].word(ROLES, "role"),
        over=roles("over"),
        off=roles("off"),
        tint=colour("tint"),
        fill=colour("fill"),
        cover=number("cover", 1.0, 0, 1),
        hatch=Hatch(fields["hatch"].word([h.value for h in Hatch], "hatch")) if "hatch" in fields else Hatch.NONE,
        spacing=number("spacing", 1.0, 0.2, 8),
        stroke=number("stroke", 0.2, 0.02, 4),
        edge=number("edge", 0.0, 0, 4),
        ink=colour("ink") or (0, 0, 0),
        grey=colour("grey"),
    )
