"""
Join rows in the channel between them: level tracks in metal, upright wires below it from the rows' edges.

A track lies above every track whose net comes up from below in its column, or their upright wires would meet: the
constrained left-edge method (Hashimoto & Stevens, 1971, from memory).
"""

from collections.abc import Mapping, Sequence

from layoutdrill.drawing.shared import Span, reach_by_net
from layoutdrill.units import GridUnits
from layoutdrill.value import value

Ends = Sequence[tuple[str, GridUnits]]
"""Nets, and where in x they come into the channel."""


@value
class Channel:
    """The track of each net, from 0 at the bottom, from where to where it runs, and how many tracks there are."""

    tracks: Mapping[str, int]
    spans: Mapping[str, Span]
    count: int


def channel_of(below: Ends, above: Ends, leaving: Mapping[str, GridUnits], apart: GridUnits) -> Channel | None:
    """
    Return the tracks of a channel, or None where nets wait for one another in a circle.

    `below` and `above` are the ends at its two edges, `leaving` the places to which tracks of ports run on; what must
    not touch stays `apart`.
    """
    spans = reach_by_net((*below, *above, *leaving.items()))
    under: dict[str, set[str]] = {net: set() for net in spans}
    for net, x in above:
        under[net] |= {other for other, at in below if other != net and abs(at - x) < apart}
    tracks: dict[str, int] = {}
    count = 0
    while len(tracks) < len(spans):
        ready = [net for net in spans if net not in tracks and under[net] <= tracks.keys()]
        if not ready:
            return None
        end = None
        placed = []
        for net in sorted(ready, key=lambda n: (spans[n], n)):
            if end is None or spans[net][0] >= end + apart:
                placed.append(net)
                end = spans[net][1]
        tracks |= dict.fromkeys(placed, count)
        count += 1
    return Channel(tracks, spans, count)
