"""
Join the rows of a block in a channel beside them: level wires in metal, upright ones in the layer below it.

Each net has one upright track; nets whose stretches do not meet share one (the left-edge method: Hashimoto & Stevens,
1971, from memory). As the two directions lie on two layers, tracks may stand in any order.
"""

from collections.abc import Iterable, Mapping

from layoutdrill.drawing.shared import Pen, Span
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Exit:
    """
    Where a wire leaves a part: its net, the side, and its middle along that side.

    It leaves in metal, or `below` the metal with the doping of a kind, 0 or 1.
    """

    net: str
    side: str
    place: GridUnits
    below: int | None = None


@value
class Channel:
    """
    The upright tracks of a channel: the number of each net's, the first one's place, and from where to where each net's
    wire runs; `doping` is that of tracks that are silicon.
    """

    tracks: Mapping[str, int]
    stretches: Mapping[str, Span]
    first: int
    pitch: GridUnits
    doping: int

    def x(self, net: str) -> int:
        return self.first + self.tracks[net] * self.pitch

    @property
    def right(self) -> int:
        """Return the place after the last track."""
        return self.first + self.pitch * (1 + max(self.tracks.values(), default=-1))


def tracks_of(stretches: Mapping[str, Span], apart: GridUnits) -> dict[str, int]:
    """Return the track of each net, from 0; stretches on one track stay `apart` from middle to middle of their ends."""
    ends: list[int] = []
    tracks: dict[str, int] = {}
    for net, (low, high) in sorted(stretches.items(), key=lambda item: (item[1], item[0])):
        track = next((k for k, end in enumerate(ends) if end + apart <= low), len(ends))
        if track == len(ends):
            ends.append(high)
        ends[track] = high
        tracks[net] = track
    return tracks


def track_pitch(t: Technique) -> int:
    """Return the distance of two tracks that both have contacts."""
    past = 2 * t.doped.past if t.doped is not None and t.doped.island else 0
    return max(t.wires[layer].pad + t.wires[layer].spacing for layer in (METAL, OTHER)) + past


def draw_channel(pen: Pen, channel: Channel, ends: Iterable[tuple[str, GridUnits, GridUnits]]) -> None:
    """
    Add the channel's wires; `ends` tells for the wires of rows their nets and where they end on the border.

    A stretch reaches past the outermost end of its net where that leaves the block.
    """
    half, doping = pen.under.width // 2, channel.doping
    for net, (low, high) in channel.stretches.items():
        pen.upright_under(doping, channel.x(net), (low - half, high + half))
    for net, x, y in ends:
        if net in channel.tracks:
            pen.level(pen.metal, (x - 2 * pen.wire, channel.x(net)), y, pen.wire)
            pen.joint(channel.x(net), y, doping)


def name_ports(pen: Pen, channel: Channel, leaving: Iterable[str], top: int) -> None:
    """End the tracks of nets that leave the block on pads of metal in a row, each named."""
    for net in leaving:
        pen.joint(channel.x(net), top, channel.doping)
        pen.label(net, pen.metal, channel.x(net), top)
