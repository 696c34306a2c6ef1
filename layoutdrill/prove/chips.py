"""Draw a whole chip and prove it, or open it as it was proved before."""

from layoutdrill.cells.chips import Chip
from layoutdrill.drawing.chips import chip_drawing
from layoutdrill.errors import FaultError
from layoutdrill.extract.run import extract
from layoutdrill.headway import tell
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.layout.text import layout_text, parse_layout
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.process.model import Process
from layoutdrill.prove.kept import keep_layout, kept_layout, key_of
from layoutdrill.prove.proof import Proved, faults_of, told_against

ATTEMPTS = 6


def proved_chip(chip: Chip, process: Process, seed: int, *, difficulty: float = 0.3) -> Proved:
    """
    Return a proved drawing of a chip; the same for the same arguments, whether drawn now or kept from before.

    Raises FaultError, naming chip, process and seed, when no attempt passes.
    """
    netlist = chip.netlist(process)
    key = key_of(netlist, process, seed, difficulty)
    kept = kept_layout(key) if key else None
    if kept is not None:
        tell("it was drawn before and is held against its netlist")
        layout, attempts = kept
        extraction = extract(layout, process)
        box = layout.box
        same = compare(netlist, extraction.netlist, bodies=True, merge=Merge.FINGERS)
        if box is not None and not same.differences and not told_against(netlist, extraction):
            return Proved(layout, extraction, seed, attempts, box)
    faults: tuple[str, ...] = ()
    for attempt in range(ATTEMPTS):
        drawn = chip_drawing(chip, process, seed, difficulty=difficulty, attempt=attempt)
        if drawn is None:
            faults = ("no room was found for the wires",)
            continue
        # As its canonical text tells it, so that what is drawn now is in all what will be opened from before.
        tell("it is drawn and is read back")
        layout = parse_layout(layout_text(read_gdsii(write_gdsii(drawn.layout, process), process)))
        extraction = extract(layout, process)
        tell("it is read back and is held against its rules and its netlist")
        faults = faults_of(netlist, process, layout, extraction, drawn)
        if not faults:
            if key:
                keep_layout(key, layout, attempt + 1)
            return Proved(layout, extraction, seed, attempt + 1, drawn.frame)
    raise FaultError(
        f"{chip.name} in {process.name} from seed {seed} could not be drawn and proved: {faults[0]}",
        todo="please report this line",
    )
