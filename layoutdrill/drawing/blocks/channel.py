"""
Join the rows of a block in a channel beside them: level wires in metal, upright ones in the layer below it.

Each net has one upright track; nets whose stretches do not meet share one (the left-edge method: Hashimoto & Stevens,
1971, from memory). As the two directions lie on two layers, tracks may stand in any order.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label

Shapes = dict[str, list[Rect]]


@dataclass(frozen=True, slots=True)
class Exit:
    """Where a row's wire ends on the border: its net, and its middle."""

    net: str
    x: int
    y: int


def tracks_of(stretches: Mapping[str, tuple[int, int]], apart: int) -> dict[str, int]:
    """Return the track of each net, from 0; stretches on one track stay `apart` from middle to middle of their ends."""
    ends: list[int] = []
    found: dict[str, int] = {}
    for net, (low, high) in sorted(stretches.items(), key=lambda item: (item[1], item[0])):
        track = next((k for k, end in enumerate(ends) if end + apart <= low), len(ends))
        if track == len(ends):
            ends.append(high)
        ends[track] = high
        found[net] = track
    return found


def name_ports(
    shapes: Shapes, t: Technique, tracks: Mapping[str, int], leaving: Iterable[str], first: int, top: int, doping: int
) -> dict[str, Label]:
    """End the tracks of nets that leave the block on pads of metal in a row, each named, and return the names."""
    found = {}
    for net in leaving:
        x = first + tracks[net] * track_pitch(t)
        _landing(shapes, t, x, top, doping)
        found[net] = Label(net, t.wires[METAL].layer, x, top)
    return found


def draw_channel(
    shapes: Shapes, t: Technique, exits: Sequence[Exit], tracks: Mapping[str, int],
    stretches: Mapping[str, tuple[int, int]], first: int, doping: int,
) -> None:  # fmt: skip
    """
    Add the channel's wires: track 0 stands at `first`; `doping` chooses the doping of tracks that are silicon.

    A stretch may reach past the outermost exit of its net, where the net leaves the block.
    """
    pitch = track_pitch(t)
    metal, other = t.wires[METAL], t.wires[OTHER]
    for net, track in tracks.items():
        low, high = stretches[net]
        x, half = first + track * pitch, other.width // 2
        _under(shapes, t, Rect(x - half, low - half, x + half, high + half), doping)
    for exit_ in exits:
        if exit_.net not in tracks:
            continue
        x, y = first + tracks[exit_.net] * pitch, exit_.y
        shapes[metal.layer].append(Rect(exit_.x - metal.width, y - metal.width // 2, x, y + metal.width // 2))
        _landing(shapes, t, x, y, doping)


def track_pitch(t: Technique) -> int:
    """Return the distance of two tracks that both have contacts."""
    past = 2 * t.doped.past if t.doped is not None and t.doped.island else 0
    return max(t.wires[layer].pad + t.wires[layer].spacing for layer in (METAL, OTHER)) + past


def _landing(shapes: Shapes, t: Technique, x: int, y: int, doping: int) -> None:
    """Draw a contact of metal and the layer below it."""
    shapes[t.wires[METAL].layer].append(_square(x, y, t.wires[METAL].pad // 2))
    _under(shapes, t, _square(x, y, t.wires[OTHER].pad // 2), doping)
    shapes.setdefault("contact", []).append(_square(x, y, t.contact // 2))


def _under(shapes: Shapes, t: Technique, rect: Rect, doping: int) -> None:
    layer = t.wires[OTHER].layer
    if t.doped is None:
        shapes.setdefault(layer, []).append(rect)
    elif t.doped.island:
        shapes.setdefault(layer, []).append(rect)
        shapes.setdefault(t.doped.doping[doping], []).append(rect.grown(t.doped.past))
    else:  # outside of every well
        shapes.setdefault(t.doped.doping[1], []).append(rect)


def _square(x: int, y: int, half: int) -> Rect:
    return Rect(x - half, y - half, x + half, y + half)
