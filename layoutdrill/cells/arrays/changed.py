"""Change one crossing of an array: its transistor on the other line of the pair, or none; everything else as it was."""

from collections.abc import Iterator
from dataclasses import replace

from layoutdrill.cells.arrays.decoder import COMPLEMENT_LINK, TRUE_LINK, pair
from layoutdrill.cells.arrays.floor import Floor
from layoutdrill.cells.arrays.planes import UNPROGRAMMED, crossing
from layoutdrill.cells.model import Cell, style_of
from layoutdrill.cells.tiling import Place, Tile, Tiling
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process

_LINKS = {TRUE_LINK: COMPLEMENT_LINK, COMPLEMENT_LINK: TRUE_LINK}
Change = tuple[Netlist, Tiling, str, str]
"""The netlist and the tiling of the changed array, the kind of edit, and what is different in words."""


def changed_crossings(cell: Cell, process: Process) -> Iterator[Change]:
    """Yield an array's changes crossing by crossing; nothing for an array that has no planes."""
    style = style_of(process)
    tiling = cell.tiling(process)
    if tiling is None:
        return
    true, none = pair(style, True), pair(style, None)
    complement, device, bare = pair(style, False), crossing(style, present=True), crossing(style, present=False)
    bare = next((tiling.tiles[name] for name in UNPROGRAMMED.values() if name in tiling.tiles), bare)
    for number, place in enumerate(tiling.places):
        nets = dict(place.joined)
        if place.tile in (true.name, complement.name):
            at, other = ("a", "an") if place.tile == true.name else ("an", "a")
            said = f"on the line {nets['y']} the transistor stands on {nets[other]}, not on {nets[at]}"
            yield _with(cell, process, number, complement if at == "a" else true, "input moved", said)
            said = f"on the line {nets['y']} the transistor of {nets[at]} is missing"
            yield _with(cell, process, number, none, "transistor missing", said)
        elif place.tile in _LINKS and _LINKS[place.tile] in tiling.tiles:
            at, other = ("a", "an") if place.tile == TRUE_LINK else ("an", "a")
            said = f"in the line {nets['y']} a transistor stands on {nets[other]}, not on {nets[at]}"
            yield _with(cell, process, number, tiling.tiles[_LINKS[place.tile]], "input moved", said)
        elif place.tile in (device.name, bare.name):
            there = place.tile == device.name
            said = f"the crossing of {nets['word']} and {nets['bit']} has {'no' if there else 'a'} transistor"
            if bare.devices:
                said = f"at the crossing of {nets['word']} and {nets['bit']} the transistor is {'not ' * there}joined"
            tile = bare if there else device
            yield _with(cell, process, number, tile, "transistor missing" if there else "transistor added", said)


def _with(cell: Cell, process: Process, number: int, tile: Tile, edit: str, said: str) -> Change:
    """Lay the array again with another tile at one place, which renumbers the transistors behind it."""
    old = cell.tilings[style_of(process)]
    floor = Floor()
    for at, place in enumerate(old.places):
        own = tile if at == number else old.tiles[place.tile]
        floor.put(place.row, place.column, own, _nets(place, own), flipped=place.flipped)
    tiling = replace(floor.tiling(), rows=old.rows, columns=old.columns)
    style = style_of(process)
    changed = replace(cell, netlists={style: tiling.devices}, tilings={style: tiling})
    return changed.netlist(process), tiling, edit, said


def _nets(place: Place, tile: Tile) -> dict[str, str]:
    return {port: net for port, net in place.joined if port in tile.ports}
