"""Which rail a transistor's row of diffusion hangs on: how a reader tells polarity where no doping shows."""

from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene
from layoutdrill.unions import Unions


def rail_of(scene: Scene, transistor: str) -> str | None:
    """
    Return the one supply that a transistor's row touches, or None where it touches none or both.

    A row is what hangs together by diffusion: pieces joined through the channels between them, metal left out.
    """
    row = _rows(scene).get(transistor)
    if row is None:
        return None
    touched = {net for net in row if net in scene.process.supplies}
    return touched.pop() if len(touched) == 1 else None


def _rows(scene: Scene) -> dict[str, frozenset[str]]:
    """Return, for each transistor, the nets of the diffusions in its row."""
    pieces = [p for p in scene.pieces if p.material is Material.DIFFUSION]
    rows = Unions()
    first: dict[str, int] = {}
    for i, piece in enumerate(pieces):
        for name in piece.transistors:
            if name in first:
                rows.join(i, first[name])
            else:
                first[name] = i
    nets: dict[int, set[str]] = {}
    for i, piece in enumerate(pieces):
        nets.setdefault(rows.find(i), set()).add(piece.net)
    return {name: frozenset(nets[rows.find(i)]) for name, i in first.items()}
