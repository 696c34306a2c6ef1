"""Tilings: tiles whose edges really join into the netlist."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.cells.build import tile_netlist
from layoutdrill.cells.compact import HIGH, LOW
from layoutdrill.cells.tiling import Part, Place, Tile, Tiling
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.compare import compare
from layoutdrill.netlist.model import Netlist, Transistor
from tests.cells.processes import ABUTTING, CMOS
from tests.each import each
from tests.sampling import covering

LINES = [name for name in array_names() if name.startswith(("decoder", "rom", "pla"))]
SPARE = Part.UNCUT, Part.UNJOINED


@each(("name", "kind"), covering(ABUTTING))
def test_tiles_join_by_abutment_into_the_netlist(name, kind, processes):
    """
    Rebuilt from the tiles, each net found by joining the edges that touch and the rails, never by the names of nets:
    the same circuit as the cell's netlist.
    """
    process = processes[kind]
    cell = load_cell(name)
    netlist, tiling = cell.netlist(process), cell.tiling(process)
    parent = {}

    def find(key):
        while parent.setdefault(key, key) != key:
            key = parent[key]
        return key

    grid = {(place.row, place.column): place for place in tiling.places}

    def edge(place, side):
        tile = tiling.tiles[place.tile]
        if place.flipped:
            side = {"bottom": "top", "top": "bottom"}.get(side, side)
        found = getattr(tile, side)
        if place.flipped and side in ("left", "right"):
            found = found[::-1]
        return [(place.row, place.column, port) if port not in (LOW, HIGH) else port for port in found]

    for (row, column), place in grid.items():
        for there, here, back in (((row, column + 1), "right", "left"), ((row + 1, column), "top", "bottom")):
            if there in grid:
                for a, b in zip(edge(place, here), edge(grid[there], back), strict=True):
                    parent[find(a)] = find(b)
    rails = {LOW: process.supplies[0], HIGH: process.supplies[1]}
    outer = {find(own): rail for own, rail in rails.items()}
    for place in tiling.places:  # the ports are told where they touch some tile
        for port, net in place.joined:
            if net in netlist.ports and net not in (LOW, HIGH):
                outer[find((place.row, place.column, port))] = net

    def net(place, name):
        if name in rails:
            return rails[name]
        root = find((place.row, place.column, name))
        return outer[root] if root in outer else "n{}_{}_{}".format(*root)

    built = []
    for place in tiling.places:
        for given, device in zip(place.transistors, tiling.tiles[place.tile].devices, strict=True):
            ends = [net(place, end) for end in device.ends]
            built.append(Transistor(given, device.kind, net(place, device.gate), *ends, mode=device.mode))
    again = Netlist(netlist.name, netlist.ports, tuple(built))
    assert compare(again, netlist).differences == ()
    assert [t.name for t in built] == [t.name for t in netlist.transistors]


def test_tiles_that_do_not_fit_are_refused():
    """With the place, and what each edge brings."""
    first = Tile("first", "", (), right=("y",))
    second = Tile("second", "", (), left=("y", "s"))
    places = (Place(0, 0, "first", (("y", "a"),)), Place(0, 1, "second", (("y", "a"), ("s", "b"))))
    with pytest.raises(
        LayoutdrillError, match="tile first at row 0, column 0 brings a to its right edge, second beyond"
    ):
        Tiling(1, 2, {"first": first, "second": second}, places)


def test_a_tiling_says_what_runs_through_and_whose_each_transistor_is(processes):
    """Of a RAM of two by two."""
    tiling = load_cell("ram_array_2x2").tiling(processes[CMOS])
    assert tiling.through("row") == [("w0",), ("w1",)]
    assert tiling.through("column") == [("b0", "b0n"), ("b1", "b1n")]
    assert [place.flipped for place in tiling.places] == [False, False, True, True]
    owner = tiling.owners["M13"]
    assert (owner.row, owner.column, owner.tile) == (1, 0, "ram_6t")


@pytest.mark.parametrize("name", LINES)
def test_transistors_stand_as_what_their_tiles_call_them(name, processes):
    """Each is one thing; crossings and loads end on one supply, links on lines, and a driver shares its pull-up's y."""
    for process in processes.values():
        tiling = load_cell(name).tiling(process)
        if tiling is None:
            continue
        parts = tiling.parts
        assert sorted(s.name for own in parts.values() for s in own) == sorted(tiling.owners)
        for part in (Part.CROSSING, Part.LOAD, Part.DRIVER, Part.PULL_UP, Part.BESIDE):
            assert all(len({LOW, HIGH}.intersection(s.ends)) == 1 for s in parts.get(part, ()))
        assert all(s.line in s.ends for s in parts.get(Part.CROSSING, ()))
        assert not any(s.line in s.ends for part in SPARE for s in parts.get(part, ()))
        assert [s.output for s in parts.get(Part.DRIVER, ())] == [s.output for s in parts.get(Part.PULL_UP, ())]
        assert Part.LINK in parts or {s.line for s in parts[Part.CROSSING]} == {s.output for s in parts[Part.LOAD]}


@pytest.mark.parametrize("name", [name for name in array_names() if name not in LINES])
def test_like_cells_fill_their_rows(name, processes):
    """As tiles are drawn: both rails in each, one kind of tile to a column, and a row upside down as a whole."""
    for process in processes.values():
        tiling = load_cell(name).tiling(process)
        if tiling is None or tiling.parts:
            continue
        assert len(tiling.places) == tiling.rows * tiling.columns
        assert {tile.rails for tile in tiling.tiles.values()} == {(LOW, HIGH)}
        assert len({(place.column, place.tile) for place in tiling.places}) == tiling.columns
        assert len({(place.row, place.flipped) for place in tiling.places}) == tiling.rows


def test_a_tile_is_a_netlist_of_its_own(processes):
    """The link of a series decoder in PMOS: the supplies by the names of the process, and the sizes of the array."""
    process = processes["pmos"]
    cell = load_cell("decoder2_nor")
    netlist, tiling = cell.netlist(process), cell.tiling(process)
    assert tile_netlist(tiling, "link_true", netlist, process).text() == (
        "netlist link_true\nports y s t a an\npmos M2 gate=a ends=s,t L=12000 W=36000\n"
    )
    assert tile_netlist(tiling, "begin", netlist, process).text() == (
        "netlist begin\nports VDD VSS y\npmos M1 gate=VDD ends=VDD,y L=84000 W=12000\n"
    )


@each(("name", "kind"), covering(ABUTTING))
def test_every_transistor_is_in_one_tile(name, kind, processes):
    """The tiles' transistors, place by place, are as many as the array's and of the same kinds."""
    process = processes[kind]
    cell = load_cell(name)
    netlist, tiling = cell.netlist(process), cell.tiling(process)
    tiles = {tile: tile_netlist(tiling, tile, netlist, process) for tile in tiling.tiles}
    kinds = [t.model for place in tiling.places for t in tiles[place.tile].transistors]
    assert kinds == [t.model for t in netlist.transistors]
    assert sorted(tiling.owners) == sorted(t.name for t in netlist.transistors)
