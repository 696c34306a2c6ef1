"""Save a specimen as a picture or as a layout file."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import isqrt
from pathlib import Path

from PIL import Image

from layoutdrill.cells import Cell, load_cell
from layoutdrill.cells.kit import find_kit
from layoutdrill.deck.model import KIT_PROCESS
from layoutdrill.deck.specimen import drawn, from_kit
from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.face import DrawnFace, Light, layout_of
from layoutdrill.face.section import SectionFace
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import Overlay, devices_overlay, nets_overlay
from layoutdrill.picture.stages import TITLES, Stage, stages_of
from layoutdrill.picture.view import View
from layoutdrill.process.films import load_films
from layoutdrill.question.model import Specimen
from layoutdrill.value import value

ENDINGS = (".png", ".svg", ".gds")
DEFAULT_LOOK = "reflected-light"
USUAL_SCALE = 8
"""Pixels per λ where none are asked for and the picture does not become too large."""
MOST_PIXELS = 20_000_000
"""Of a picture; it is painted twice as fine both ways, and the imaging library warns from 89 million on."""


def specimen_of(
    what: str, process: str, seed: int, difficulty: float, kit: Path | None = None, circuit: str | None = None
) -> Specimen:
    """
    Return a proved drawing of `what`: a cell or array by name, equations (`y = !(a*b)`), or a SPICE file.

    `circuit` is which circuit of a file that holds several. When the process is the open kit's, a name means a real
    cell, as it is laid out there. Raises LayoutdrillError for what cannot be read or drawn.
    """
    if process == KIT_PROCESS and not what.replace("_", "").isalnum():
        raise LayoutdrillError(
            f"nothing but the kit's own cells is shown in {KIT_PROCESS}", todo="name one, or choose another process"
        )
    if process == KIT_PROCESS:
        return from_kit(find_kit(kit), what, 0)
    return drawn(cell_meant(what, circuit), process, seed, difficulty)


def cell_meant(what: str, circuit: str | None = None) -> Cell:
    """Return the cell that a name, equations, or a SPICE file mean."""
    from layoutdrill.cells.author import cell_of_equations, cell_of_netlist  # noqa: PLC0415 - most are drawn by name
    from layoutdrill.netlist.spice import NETLIST_FILES, device_place, read_spice_file  # noqa: PLC0415 - only of a file
    from layoutdrill.reading.ports import with_ports  # noqa: PLC0415 - only of a file

    path = Path(what)
    if path.suffix.lower() in NETLIST_FILES:
        netlist = with_ports(read_spice_file(path, subckt=circuit))
        return cell_of_netlist(netlist, Where(what), partial(device_place, path))
    if any(sign in what for sign in "=!*+()"):
        return cell_of_equations(what)
    return load_cell(what)


@value
class Shown:
    """
    How a saved picture shows its specimen: `seed` the lot and the die, `look` by name, `wear` from 0 to 1, `overlay`
    none, devices or nets, `scale` in pixels per λ, 0 for the usual one or what a whole chip has room for; `stage` how
    far the die is taken apart, “all” for every stage abreast; `objective` by name, "" for the one that suits; `aid`
    puts the tracing aid on; `section` cuts along a line: “auto” or y in λ.
    """

    seed: int = 0
    look: str | None = None
    wear: float = 0.0
    overlay: str = "none"
    scale: int = 0
    stage: str = ""
    objective: str = ""
    aid: bool = False
    section: str = ""


def save_specimen(specimen: Specimen, output: Path, how: Shown = Shown()) -> None:  # noqa: B008 - a value
    """
    Write the specimen to `output`: .png and .svg as seen through a look, .gds as drawn, .txt a section as a table.

    Raises LayoutdrillError for another ending, an unknown look, or a file that cannot be written.
    """
    how = replace(how, scale=_scale(specimen, how.scale))
    ending = output.suffix.lower()
    process, extraction = specimen.process, specimen.extraction
    marks: dict[str, Callable[[], Overlay]] = {
        "none": Overlay,
        "devices": lambda: devices_overlay(extraction),
        "nets": lambda: nets_overlay(extraction),
    }
    if ending not in ENDINGS and not (how.section and ending == ".txt"):
        raise LayoutdrillError(
            f'cannot write a "{ending}" file', where=Where(str(output)), todo=f"end the name in {', '.join(ENDINGS)}"
        )
    if how.overlay not in marks:
        raise LayoutdrillError(f'no overlay "{how.overlay}"', todo=did_you_mean(how.overlay, marks))
    try:
        if ending == ".gds":
            from layoutdrill.layout.gdswrite import write_gdsii  # noqa: PLC0415 - as the format asks

            output.write_bytes(write_gdsii(layout_of(specimen.face), process))
        elif ending == ".txt":
            output.write_text("\n".join(_cut(specimen, how.section).grid_lines()) + "\n", encoding="utf-8")
        elif ending == ".svg" and not how.section and not how.stage:
            from layoutdrill.picture.shot import Shot  # noqa: PLC0415 - as the format asks
            from layoutdrill.picture.svg import svg  # noqa: PLC0415 - the same

            layout, chosen = layout_of(specimen.face), load_look(how.look or DEFAULT_LOOK)
            shot = Shot(chosen, _view(specimen, how), how.seed, how.wear)
            text = svg(layout, process, shot, extraction, marks[how.overlay]())
            output.write_text(text, encoding="utf-8")
        elif ending == ".svg":
            raise LayoutdrillError("sections and stages are not written as SVG", todo="end the name in .png")
        else:
            _image(specimen, how, marks[how.overlay]()).save(output)
    except OSError as error:
        raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(output))) from None


def _scale(specimen: Specimen, wanted: int) -> int:
    """Return pixels per λ: those wanted, or the usual ones; raises LayoutdrillError for too large a picture."""
    box, per = specimen.face.box, specimen.face.unit.per
    area = max(1, box.width * box.height // per**2)
    if wanted and area * wanted**2 > MOST_PIXELS:
        raise LayoutdrillError(
            f"a picture of {area * wanted**2 // 1_000_000} million pixels is too large",
            todo=f"use --scale {max(1, isqrt(MOST_PIXELS // area))} or less",
        )
    return wanted or max(1, min(USUAL_SCALE, isqrt(MOST_PIXELS // area)))


def _view(specimen: Specimen, how: Shown) -> View:
    """Return a view of all, with room below for the scale bar, so that it hides nothing."""
    return View.whole(layout_of(specimen.face), specimen.process, how.scale, margin=2 if how.overlay == "none" else 5)


def _image(specimen: Specimen, how: Shown, overlay: Overlay) -> Image.Image:
    """Return the picture asked for: from above, cut, or every stage side by side."""
    view = _view(specimen, how)
    if how.section:
        width = max(300, round(view.region.width * view.scale(specimen.process)))
        return _cut(specimen, how.section).section.named(width)
    if how.stage == "all":
        from layoutdrill.picture.abreast import abreast  # noqa: PLC0415 - only of a section

        films = load_films(specimen.process)
        shown = [(stage, TITLES[stage]) for stage in stages_of(specimen.process, films)]
        return abreast([(title, _seen(specimen, how, view, stage, overlay)) for stage, title in shown])
    return _seen(specimen, how, view, how.stage, overlay)


def _seen(specimen: Specimen, how: Shown, view: View, stage: str, overlay: Overlay) -> Image.Image:
    if stage and stage not in tuple(Stage):
        known = (*Stage, "all")
        raise LayoutdrillError(f'no stage "{stage}"', todo=did_you_mean(stage, known))
    look = load_look(how.look or DEFAULT_LOOK)
    light = Light(look, how.seed, how.wear, aid=how.aid, objective=how.objective, stage=stage)
    return specimen.face.marked(specimen.face.image(view, light), view, light, overlay)


def _cut(specimen: Specimen, line: str) -> SectionFace:
    assert isinstance(specimen.face, DrawnFace)
    return SectionFace.of_line(specimen.face, line)
