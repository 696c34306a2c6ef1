"""Say where, between the edges of its diffusion, a contact may lie that a bent gate goes round."""

from collections.abc import Mapping

from layoutdrill.drawing.row_pairs.placing.floor import Strip, straighten
from layoutdrill.drawing.row_pairs.placing.forms import pocket
from layoutdrill.drawing.row_pairs.placing.pairing import Form
from layoutdrill.drawing.row_pairs.shaping.bent import middle
from layoutdrill.drawing.shared.technique import Technique


def keep_steps(strip: Strip, lines: Mapping[int, set[int]]) -> None:
    """Make gates straight that would part contacts on one line; `lines` are those of the contacts by region."""
    for at, gate in enumerate(strip.gates):
        left, right = strip.regions[at : at + 2]
        if gate.device.step and lines[id(left)] & lines[id(right)]:
            straighten(gate)


def pockets_in(strip: Strip, t: Technique, height: int, loose: int) -> dict[int, tuple[int, int]]:
    """Return how far contacts stay inside the lower and the upper edge, by region, where bent gates narrow it."""
    edge, near = t.contact // 2 + t.surround, t.contact_gate + t.contact // 2
    found = {}
    for first, _, region in strip.bent:
        inside = pocket(t, loose)
        found[id(region)] = inside, inside if first.device.form is Form.RING else edge
    for at, gate in enumerate(strip.gates):
        if gate.device.step:
            low, high = middle(height, t)
            sides = strip.regions[at : at + 2]
            outer, inner = sides if gate.device.step > 0 else sides[::-1]
            found[id(outer)] = edge, height - low + near
            found[id(inner)] = high + near, edge
    return found if strip.row == 0 else {region: (high, low) for region, (low, high) in found.items()}


def bands_in(strip: Strip, t: Technique, height: int, at: int) -> dict[int, tuple[int, int]]:
    """
    Return from where to where the sources and drains between narrow channels reach, above the strip's lower edge.

    In a row that a bent gate has made high, diffusion stays low where nothing is bent; `at` is where contacts lie.
    Diffusions of bulk silicon keep their height, and only their windows are low.
    """
    if t.doped is not None and not t.doped.island:
        return {}
    body = t.contact + 2 * t.surround
    found = {}
    gates = strip.gates
    for place, region in enumerate(strip.regions):
        beside = [gate.device for gate in gates[max(0, place - 1) : place + 1]]
        if all(device.form is Form.STRAIGHT and device.width for device in beside):
            width = max(body, *(device.width for device in beside))
            low = rise_of(width, height, at)
            found[id(region)] = low, low + width
    return found


def rise_of(width: int, height: int, at: int) -> int:
    """Return how far above a strip's lower edge something narrower lies, about the height `at` of its contacts."""
    return min(max(at - width // 2, 0), height - width)


def start_of(strip: Strip, t: Technique, height: int, loose: int) -> int:
    """Return how far above a strip's lower edge its contacts begin: in its middle, or where gates go round them."""
    low = max((pocket(t, loose) for _ in strip.bent), default=0)
    ringed = any(first.device.form is Form.RING for first, _, _ in strip.bent)
    up = height // 2 if ringed else max(height // 2, low)
    return up if strip.row == 0 else height - up
