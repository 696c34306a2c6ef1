"""
Draw, and prove the drawing: check its rules, write it as GDSII, read it back, extract, compare.

This is the only door through which a drawing reaches anyone. The extractor sees the file and nothing else.
"""

from collections import Counter
from dataclasses import replace

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.draw import draw
from layoutdrill.drawing.shared import Drawing, Request, with_sizes
from layoutdrill.errors import FaultError
from layoutdrill.extract.model import Extraction, Finding, FindingKind
from layoutdrill.extract.run import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.compare import Merge, Terms, compare_by
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process
from layoutdrill.rules.check import check
from layoutdrill.value import value

ATTEMPTS = 6


@value
class Proved:
    """
    A drawing that passed, as it was read back, and what the extractor read in it; `attempts` counts from 1.

    `frame` is the border of the cell. Beyond it a neighbour may begin: `strangers` are its transistors, by their
    names in the extraction, and share nothing with the cell but the supplies.
    """

    layout: Layout
    extraction: Extraction
    seed: int
    attempts: int
    frame: Rect
    strangers: frozenset[str] = frozenset()

    @property
    def cell(self) -> Netlist:
        """The extracted netlist without the transistors of neighbours."""
        netlist = self.extraction.netlist
        return replace(netlist, transistors=tuple(t for t in netlist.transistors if t.name not in self.strangers))


def proved(
    netlist: Netlist,
    process: Process,
    seed: int,
    *,
    difficulty: float = 0.3,
    neighbours: bool = False,
    tiling: Tiling | None = None,
) -> Proved:
    """
    Return a proved drawing of the netlist; redraw with more room when one fails.

    With `neighbours`, crowded drawings may have transistors of other cells in them: see `Proved.strangers`. With a
    `tiling` of the netlist it is drawn as an array, one tile beside another. A netlist too large for one pair of rows
    is drawn as a block of several. Both stand alone.

    Raises FaultError, naming cell, process and seed, when no attempt passes.
    """
    faults: tuple[str, ...] = ()
    for attempt in range(ATTEMPTS):
        drawing = draw(Request(netlist, process, seed, difficulty, neighbours, tiling, attempt))
        if drawing is None:
            faults = ("no room was found for the wires",)
            continue
        layout = read_gdsii(write_gdsii(drawing.layout, process), process)
        extraction = extract(layout, process)
        faults = faults_of(netlist, process, layout, extraction, drawing)
        if not faults:
            strangers = strangers_in(extraction, drawing.frame)
            return Proved(layout, extraction, seed, attempt + 1, drawing.frame, strangers)
    raise FaultError(
        f"{netlist.name} in {process.name} from seed {seed} could not be drawn and proved: {faults[0]}",
        todo="please report this line",
    )


def faults_of(
    netlist: Netlist, process: Process, layout: Layout, extraction: Extraction, meant: Drawing
) -> tuple[str, ...]:
    """Say everything by which the drawing as read is not the netlist as meant; nothing means proved."""
    faults = [f"rule {v.rule}: {v.text} at {v.place}" for v in check(layout, process)]
    strangers = strangers_in(extraction, meant.frame)
    faults += [
        f"{finding.kind}: {finding.text}"
        for finding in told_against(netlist, extraction)
        if finding.kind is not FindingKind.FLOATING_GATE or meant.frame.overlaps(finding.place)
    ]
    own = tuple(t for t in extraction.netlist.transistors if t.name not in strangers)
    cell = replace(extraction.netlist, transistors=own)
    faults += _mixed(cell, extraction.netlist, strangers, process)
    sized = with_sizes(netlist, process, meant.sizes)
    titles = "the cell", "the drawing"
    comparison = compare_by(sized, cell, Terms(bodies=True, sizes=True, merge=Merge.FINGERS, titles=titles))
    faults += comparison.differences
    if not faults:
        drawn = Counter(t.fingers for t in merge_fingers(cell).transistors)
        intended = Counter(t.fingers for t in merge_fingers(sized).transistors)
        if drawn != intended:
            faults.append(f"fingers drawn {dict(drawn)}, meant {dict(intended)}")
    return tuple(faults)


def told_against(netlist: Netlist, extraction: Extraction) -> tuple[Finding, ...]:
    """
    Return the findings that speak against a drawing. That a long branched strip was read as a wire does not where no
    element was meant: had one been lost or read, the comparison would tell it.
    """
    harmless = () if netlist.elements else (FindingKind.UNREAD_ELEMENT,)
    return tuple(finding for finding in extraction.findings if finding.kind not in harmless)


def strangers_in(extraction: Extraction, frame: Rect) -> frozenset[str]:
    """Return the transistors whose channels lie outside the cell's frame: those of neighbours."""
    return frozenset(
        t.name for t in extraction.netlist.transistors if not any(frame.overlaps(r) for r in extraction.channel(t.name))
    )


def _mixed(cell: Netlist, whole: Netlist, strangers: frozenset[str], process: Process) -> list[str]:
    """Tell nets, other than the supplies, that the cell shares with a neighbour."""
    inside = {net for t in cell.transistors for net in t.terminals} | set(cell.ports)
    outside = {net for t in whole.transistors if t.name in strangers for net in t.terminals}
    return [f"net {net} runs into a neighbour" for net in sorted(inside & outside - set(process.supplies))]
