"""Check a deck's own layouts: what is odd on them, what they are called, the netlist that they are said to be."""

from collections.abc import Iterator

from layoutdrill.deck.layouts import layout_of_own, specimen_of_own
from layoutdrill.deck.model import OwnLayout
from layoutdrill.deck.own_cells import misnamed
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.compare import Terms, compare_by
from layoutdrill.netlist.spice import read_spice_file
from layoutdrill.process import load_process


def check_layout(own: OwnLayout) -> Iterator[LayoutdrillError]:
    """Yield what is wrong with one of a deck's own layouts, at its place in the deck."""
    try:
        for slip in layout_slips(own):
            yield LayoutdrillError(f"{own.name}: {slip}", where=own.where, todo="mend the layout or what is said")
    except LayoutdrillError as error:
        beside = f" ({error.where})" if error.where else ""
        yield LayoutdrillError(f"{error.what}{beside}", where=own.where, todo=error.todo)


def layout_slips(own: OwnLayout) -> list[str]:
    """Say what is wrong with an own layout: what is odd on it, what it is called, the netlist that it is said to be."""
    specimen = specimen_of_own(own, layout_of_own(own), 0)
    slips = [finding.text for finding in specimen.face.extraction.findings]
    missing = [port.name for port in own.ports if port.name not in specimen.netlist.ports]
    slips += [f"no label says where port {name} is" for name in missing]
    if own.netlist is not None:
        result = compare_by(
            specimen.netlist, read_spice_file(own.netlist), Terms(titles=("the layout", own.netlist.name))
        )
        slips += [] if result.equal else list(result.differences or ("the circuits differ",))
    wrong = misnamed(own.structure, own.aliases, specimen.netlist, load_process(own.process))
    return [*slips, wrong] if wrong else slips
