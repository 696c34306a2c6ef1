"""
Make the pictures of whole chips and of each kind of defect: `python -m tests.bench.chip_pictures [FOLDER]` (art).

Each chip in its own process at one pixel a λ, the message buffer in a second one too; each defect beside a sound NAND2.
"""

import sys
from pathlib import Path

from layoutdrill.cells import load_cell
from layoutdrill.cells.chips import load_chip
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.face import DrawnFace, Light
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.prove.chips import proved_chip
from layoutdrill.prove.faults import UNSEEN, DefectKind, defects
from layoutdrill.question.fault import GAP, beside
from tests.chips.models import PROCESSES

CHIPS = (*PROCESSES.items(), ("message_buffer", "metal-gate-cmos"))
_COLOURS = 64
_MOST = 900
"""Pixels of a picture's longer side, so that the files stay small."""


def main() -> None:
    """Write every picture."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path("art")
    light = Light(load_look("reflected-light"), 1, 0.0)
    for name, process in ((name, load_process(process)) for name, process in CHIPS):
        die = proved_chip(load_chip(name), process, 3)
        face = DrawnFace(die.layout, process, die.extraction)
        path = folder / "chips" / f"{name.replace('_', '-')}-{process.name}.png"
        _save(face.image(View(face.box.grown(8), 1), light), path)
    specimen = drawn(load_cell("nand2"), "metal-gate-cmos", 1, 0.3)
    sound = specimen.face.layout.flattened()
    shift = specimen.face.box.width + GAP * specimen.process.grid_per_lambda
    for kind in DefectKind:
        if kind not in UNSEEN:
            defect = next(defects(sound, specimen.process, specimen.extraction, kind, Dice(2)))
            face = DrawnFace.of(beside(sound, defect.layout, shift), specimen.process)
            _save(face.image(View(face.box.grown(8), 4), light), folder / "faults" / f"{kind.replace(' ', '-')}.png")


def _save(image, path):
    path.parent.mkdir(parents=True, exist_ok=True)
    image.thumbnail((_MOST, _MOST))
    image.quantize(_COLOURS).save(path, optimize=True)
    print(path, path.stat().st_size)


if __name__ == "__main__":
    main()
