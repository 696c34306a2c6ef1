"""What a seed decides before anything is placed: fingers, rows, widths, sides of ports, margins, taps."""

from dataclasses import dataclass

from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.ordering import Weights
from layoutdrill.drawing.technique import Technique
from layoutdrill.netlist.model import Netlist


@dataclass(frozen=True, slots=True)
class Style:
    """
    `fingers` by transistor name; `device_rows` grid rows per device row; `widths` in grid units; `sides` the side
    on which a port leaves ("" for none); `channel` tracks to spare; `turns` and `mirrored` the orientation.
    """

    fingers: dict[str, int]
    device_rows: tuple[int, int]
    widths: tuple[int, int]
    weights: Weights
    margins: tuple[int, int]
    outer: tuple[int, int]
    spare: int
    sides: dict[str, str]
    taps: int
    turns: int
    mirrored: bool


def choose(netlist: Netlist, technique: Technique, dice: Dice, difficulty: int, extra: int) -> Style:
    """Return a style; `difficulty` runs from 0 (tidy) to 100 (crowded), `extra` grows with failed attempts."""
    count = len(netlist.transistors)
    fingers = {}
    if count <= 6:
        for t in netlist.transistors:
            if dice.chance(30 if count <= 2 else 12):
                fingers[t.name] = 2 if dice.chance(75) else 3
    low, high = (dice.between(a // 2, b // 2) * 2 for a, b in technique.widths)
    signals = [port for port in netlist.ports if port not in ("VSS", "VDD")]
    sides = {}
    for port in signals:
        sides[port] = dice.weighted((("left", 30), ("right", 30), ("bottom", 8), ("top", 8), ("", 24)))
    return Style(
        fingers=fingers,
        device_rows=(1, 1),
        widths=(low, high),
        weights=Weights(span=dice.between(2, 6), unlike=dice.between(1, 6)),
        margins=(1, 1),
        outer=(1, 1),
        spare=dice.below(2) + extra,
        sides=sides,
        taps=dice.between(1, 3),
        turns=dice.below(4),
        mirrored=dice.chance(50),
    )
