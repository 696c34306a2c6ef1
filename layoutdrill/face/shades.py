"""
Tell which shade is n and which is p, where nothing but the shade tells the two kinds apart.

A hue says nothing to many readers and varies from lot to lot; a shade says which of two areas is which only to one who
knows. So where a look shows the kinds by shade alone, the question says which is the lighter. It is measured on a
small picture of both in the very look and lot of the question.
"""

from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Kind
from layoutdrill.picture.evidence import Fact, Sight, shown
from layoutdrill.picture.looks import Look
from layoutdrill.picture.pen import Pen
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import Process

TOLD = {
    lighter: f"In this picture {lighter}-doped diffusion is the lighter, {darker}-doped the darker."
    for lighter, darker in (("n", "p"), ("p", "n"))
}
"""What is told, by the lighter kind."""
LEAST = 3.0
"""A smaller difference (8-bit levels, mean of an area) is not called lighter or darker."""
_PIXELS = 4
_INSIDE = (2, 1, 10, 7)
"""An area well inside the island that a pen draws, in λ."""


def shades_told(process: Process, look: Look, lot: int) -> tuple[str, ...]:
    """Return the fact that tells the lighter kind, () where the look shows more than shade or nothing of kinds."""
    seen = shown(Sight(look, process, lot), (Fact.KIND, Fact.WELL))
    if Fact.KIND not in seen or Fact.WELL in seen or {rule.kind for rule in process.transistors} != set(Kind):
        return ()
    n, p = (_shade(process, look, lot, kind) for kind in ("n", "p"))
    if abs(n - p) < LEAST:
        return ()
    return (TOLD["n" if n > p else "p"],)


def _shade(process: Process, look: Look, lot: int, kind: str) -> float:
    """Return the mean brightness (0 to 255) of diffusion of a kind with nothing over it."""
    pen = Pen(process)
    shapes = {name: tuple(rects) for name, rects in pen.island(kind).items()}
    image = render(Layout("shade", shapes), process, Shot(look, View(pen.box(*_INSIDE), _PIXELS), seed=lot))
    levels = image.convert("L").histogram()
    return sum(level * count for level, count in enumerate(levels)) / sum(levels)
