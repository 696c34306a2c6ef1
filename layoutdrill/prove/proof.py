"""
Draw, and prove the drawing: check its rules, write it as GDSII, read it back, extract, compare.

This is the only door through which a drawing reaches anyone. The extractor sees the file and nothing else.
"""

from collections import Counter
from dataclasses import dataclass

from layoutdrill.drawing.engine import Drawing, drawing
from layoutdrill.errors import FaultError
from layoutdrill.extract.model import Extraction
from layoutdrill.extract.run import extract
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process
from layoutdrill.rules.check import check

ATTEMPTS = 6


@dataclass(frozen=True, slots=True)
class Proved:
    """A drawing that passed, as it was read back, and what the extractor read in it; `attempts` counts from 1."""

    layout: Layout
    extraction: Extraction
    seed: int
    attempts: int


def proved(netlist: Netlist, process: Process, seed: int, *, difficulty: float = 0.3) -> Proved:
    """
    Return a proved drawing of the netlist; redraw with more room when one fails.

    Raises FaultError, naming cell, process and seed, when no attempt passes.
    """
    faults: tuple[str, ...] = ()
    for attempt in range(ATTEMPTS):
        found = drawing(netlist, process, seed, difficulty=difficulty, attempt=attempt)
        if found is None:
            faults = ("no room was found for the wires",)
            continue
        layout = read_gdsii(write_gdsii(found.layout, process), process)
        extraction = extract(layout, process)
        faults = faults_of(netlist, process, layout, extraction, found)
        if not faults:
            return Proved(layout, extraction, seed, attempt + 1)
    raise FaultError(
        f"{netlist.name} in {process.name} from seed {seed} could not be drawn and proved: {faults[0]}",
        todo="please report this line",
    )


def faults_of(
    netlist: Netlist, process: Process, layout: Layout, extraction: Extraction, meant: Drawing
) -> tuple[str, ...]:
    """Say everything by which the drawing as read is not the netlist as meant; nothing means proved."""
    faults = [f"rule {v.rule}: {v.text} at {v.place}" for v in check(layout, process)]
    faults += [f"{f.kind}: {f.text}" for f in extraction.findings]
    comparison = compare(
        netlist, extraction.netlist, bodies=True, merge=Merge.FINGERS, titles=("the cell", "the drawing")
    )
    faults += comparison.differences
    if not faults:
        drawn = Counter(t.fingers for t in merge_fingers(extraction.netlist).transistors)
        intended = Counter(meant.fingers.values())
        if drawn != intended:
            faults.append(f"fingers drawn {dict(drawn)}, meant {dict(intended)}")
    return tuple(faults)
