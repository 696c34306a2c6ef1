"""Save a specimen as a picture or as a layout file."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from layoutdrill.cells import Cell, load_cell
from layoutdrill.cells.kit import find_kit
from layoutdrill.deck.model import KIT_PROCESS
from layoutdrill.deck.specimen import drawn, from_kit
from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.face import layout_of
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.overlay import Overlay, devices_overlay, draw_overlay, nets_overlay
from layoutdrill.picture.render import render
from layoutdrill.picture.view import View
from layoutdrill.question.model import Specimen

ENDINGS = (".png", ".svg", ".gds")
DEFAULT_LOOK = "reflected-light"


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
    from layoutdrill.netlist.spice import NETLIST_FILES, device_place, read_spice_file  # noqa: PLC0415
    from layoutdrill.reading.ports import with_ports  # noqa: PLC0415

    path = Path(what)
    if path.suffix.lower() in NETLIST_FILES:
        netlist = with_ports(read_spice_file(path, subckt=circuit))
        return cell_of_netlist(netlist, Where(what), partial(device_place, path))
    if any(sign in what for sign in "=!*+()"):
        return cell_of_equations(what)
    return load_cell(what)


def save_specimen(
    specimen: Specimen,
    output: Path,
    *,
    seed: int = 0,
    look: str | None = None,
    wear: float = 0.0,
    overlay: str = "none",
    scale: int = 8,
) -> None:
    """
    Write the specimen to `output`: .png and .svg as seen through a look, .gds as drawn.

    `scale` is in pixels per λ, `wear` from 0 to 1, `overlay` is none, devices or nets. Raises LayoutdrillError for
    another ending, an unknown look, or a file that cannot be written.
    """
    ending = output.suffix.lower()
    process, layout, extraction = specimen.process, layout_of(specimen.face), specimen.extraction
    marks: dict[str, Callable[[], Overlay]] = {
        "none": Overlay,
        "devices": lambda: devices_overlay(extraction),
        "nets": lambda: nets_overlay(extraction),
    }
    if ending not in ENDINGS:
        raise LayoutdrillError(
            f'cannot write a "{ending}" file', where=Where(str(output)), todo=f"end the name in {', '.join(ENDINGS)}"
        )
    if overlay not in marks:
        raise LayoutdrillError(f'no overlay "{overlay}"', todo=did_you_mean(overlay, marks))
    # Room below for the scale bar, so that it hides nothing.
    view = View.whole(layout, process, scale, margin=2 if overlay == "none" else 5)
    chosen = load_look(look or DEFAULT_LOOK)
    try:
        if ending == ".gds":
            from layoutdrill.layout.gdswrite import write_gdsii  # noqa: PLC0415

            output.write_bytes(write_gdsii(layout, process))
        elif ending == ".svg":
            from layoutdrill.picture.svg import svg  # noqa: PLC0415

            output.write_text(
                svg(layout, process, chosen, view, extraction, marks[overlay](), seed=seed, wear=wear), encoding="utf-8"
            )
        else:
            image = render(layout, process, chosen, view, seed=seed, wear=wear)
            draw_overlay(image, extraction, process, view, marks[overlay]()).save(output)
    except OSError as error:
        raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(output))) from None
