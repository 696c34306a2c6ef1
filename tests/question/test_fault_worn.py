"""
A defect that is asked for is seen at the scale at which it is asked, in each light and however worn the die is; where a
light hides it, it is not asked.
"""

from dataclasses import replace

import pytest

from layoutdrill.dice import Dice
from layoutdrill.face import Light
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.prove.faults import UNSEEN, DefectKind
from layoutdrill.question import kinds
from layoutdrill.question.evidence_rule import ask_in_look
from tests.sampling import some

LOOKS = ("reflected-light", "dark-field", "high-contrast", "stick-colours", "ink")
WEAR = (0.8, 0.0, 0.4)
PROCESSES = ("metal-gate-cmos", "silicon-gate-cmos")
CASES = some(((look, wear, p) for p in PROCESSES for wear in WEAR for look in LOOKS), 2)
COARSEST = 2
"""Pixels a λ, where the rule lets any scale do."""
SEEN = 1.0
"""λ² that must differ by more than 20 of 255: a quarter of a contact."""


@pytest.mark.parametrize(("look", "wear", "process"), CASES)
def test_a_defect_is_seen_or_not_asked(drawn, look, wear, process):
    """Two dies side by side differ at the defect at the question's scale; an open or corroded wire may be alone."""
    kind, shown = kinds()["fault"], load_look(look)
    specimen = replace(drawn("nand2", process, 1), wear=wear)
    met = set()
    for seed in range(8):
        question = ask_in_look(kind, specimen, Dice(seed), shown)
        if question is None or question.key.what != "find" or question.key.kind in met:
            continue
        key = question.key
        met.add(key.kind)
        assert key.kind not in UNSEEN
        assert key.twin is not None or key.kind in (DefectKind.OPEN, DefectKind.CORROSION)
        if key.twin is None:
            continue
        scale, unit = question.scale or COARSEST, specimen.process.grid_per_lambda
        light = Light(shown, specimen.seed, wear)
        twins = []
        for area in (key.place, key.twin):
            x, y = (middle // unit * unit for middle in area.centre)
            half = max(area.width, area.height) // 2 // unit * unit + 4 * unit
            view = View(Rect(x - half, y - half, x + half, y + half), scale)
            twins.append(question.specimen.face.image(view, light).convert("L").tobytes())
        apart = sum(abs(a - b) > 20 for a, b in zip(*twins, strict=True))
        assert apart / scale**2 > SEEN, (key.kind, apart / scale**2)
    assert met
