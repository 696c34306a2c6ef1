"""GDSII in and out, against gdstk (0.9), an independent reader and writer used in tests only."""

import gzip
import random

import gdstk
import pytest
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.files import read_layout
from layoutdrill.layout.gdsii import gdsii_cells, read_gdsii, write_gdsii
from layoutdrill.layout.model import Label, Layout, Placement
from layoutdrill.process import load_process

KIT = load_process("open-130nm")
CMOS = load_process("silicon-gate-cmos")
EIGHT = [Transform(300, -70, turns, mirrored) for turns in range(4) for mirrored in (False, True)]


def covered(rects):
    return unary_union([box(*r) for r in rects])


def by_gdstk(cell, process):
    """Return each mask layer's area as gdstk sees it, flattened, in grid units."""
    numbers = {layer.gds: name for name, layer in process.layers.items()}
    found = {}
    for polygon in cell.get_polygons():
        name = numbers.get((polygon.layer, polygon.datatype))
        if name:
            points = polygon.points * 1000 / process.grid_nm
            found.setdefault(name, []).append(Polygon([(round(x), round(y)) for x, y in points]).buffer(0))
    return {name: unary_union(parts) for name, parts in found.items()}


def assert_same(layout, areas):
    flat = layout.flattened()
    assert set(flat.shapes) == set(areas)
    for name, rects in flat.shapes.items():
        assert covered(rects).symmetric_difference(areas[name]).area == 0


def written(cell, tmp_path, *others, unit=1e-6, precision=1e-9):
    library = gdstk.Library("test", unit=unit, precision=precision)
    library.add(cell, *others)
    path = tmp_path / "test.gds"
    library.write_gds(path)
    return path


def nested():
    inner = Layout("inner", {"metal": (Rect(0, 0, 10, 4), Rect(0, 4, 3, 9)), "poly": (Rect(2, 2, 5, 20),)})
    middle = Layout("middle", {"active": (Rect(-5, -5, 0, 0),)}, (), tuple(Placement(inner, t) for t in EIGHT))
    placed = (Placement(middle, Transform(1000, 0, 1, mirrored=True)), Placement(inner, Transform(-900, 5)))
    return Layout(
        "top", {"metal": (Rect(0, 0, 3, 3),)}, (Label("A", "metal", 1, 2), Label("B b", "poly", -4, 7)), placed
    )


def test_what_is_written_is_read_back():
    """Rectangles, labels and references in all eight orientations come back as they were."""
    layout = nested()
    again = read_gdsii(write_gdsii(layout, CMOS), CMOS)
    assert again.name == "top"
    assert again.labels == layout.labels
    assert {k: sorted(v) for k, v in again.flattened().shapes.items()} == {
        k: sorted(v) for k, v in layout.flattened().shapes.items()
    }


def test_the_same_layout_gives_the_same_bytes():
    """No dates, no order of a hash: two equal layouts, one file."""
    assert write_gdsii(nested(), CMOS) == write_gdsii(nested(), CMOS)


def test_gdstk_reads_what_is_written(tmp_path):
    """An independent reader sees the same areas, names and scale."""
    path = tmp_path / "ours.gds"
    path.write_bytes(write_gdsii(nested(), CMOS))
    library = gdstk.read_gds(path)
    assert library.precision == pytest.approx(CMOS.grid_nm * 1e-9)
    (top,) = library.top_level()
    assert top.name == "top"
    assert [(t.text, t.layer, t.texttype) for t in top.labels] == [("A", 7, 1), ("B b", 5, 1)]
    assert_same(nested(), by_gdstk(top, CMOS))


@pytest.mark.parametrize("ends", ["flush", "extended", (0.05, 0.12), (-0.02, 0.0)])
def test_paths_with_every_end(tmp_path, ends):
    """A bent path 0.14 µm wide, with flush, extended and given ends, covers what gdstk says."""
    cell = gdstk.Cell("cell")
    points = [(0, 0), (1, 0), (1, 0.8), (0.4, 0.8), (0.4, 2)]
    cell.add(gdstk.FlexPath(points, 0.14, simple_path=True, ends=ends, layer=68, datatype=20))
    cell.add(gdstk.FlexPath([(3, 3), (3, 1)], 0.14, simple_path=True, ends=ends, layer=67, datatype=20))
    assert_same(read_gdsii(written(cell, tmp_path), KIT), by_gdstk(cell, KIT))


def test_a_round_end_reaches_as_far_as_a_square_one(tmp_path):
    """A round cap is read as its square: half the width further, by definition of the format (from memory)."""
    cell = gdstk.Cell("cell")
    cell.add(gdstk.FlexPath([(0, 0), (1, 0)], 0.2, simple_path=True, ends="round", layer=68, datatype=20))
    assert read_gdsii(written(cell, tmp_path), KIT).shapes["metal1"] == (Rect(-100, -100, 1100, 100),)


def test_references_and_arrays_of_another_writer(tmp_path):
    """Turned, mirrored and arrayed references, two levels deep, are where gdstk says."""
    inner = gdstk.Cell("inner")
    inner.add(gdstk.rectangle((0, 0), (0.3, 0.1), layer=68, datatype=20))
    inner.add(
        gdstk.Polygon([(0, 0.2), (0.5, 0.2), (0.5, 0.4), (0.1, 0.4), (0.1, 0.9), (0, 0.9)], layer=67, datatype=20)
    )
    middle = gdstk.Cell("middle")
    top = gdstk.Cell("top")
    for k in range(4):
        for mirrored in (False, True):
            turn = k * 1.5707963267948966
            middle.add(gdstk.Reference(inner, (3 * k, 2 * mirrored), rotation=turn, x_reflection=mirrored))
    top.add(gdstk.Reference(middle, (1, 1), columns=3, rows=2, spacing=(20, 11)))
    top.add(gdstk.Reference(middle, (0, 50), rotation=1.5707963267948966, columns=2, rows=2, spacing=(20, 15)))
    top.add(
        gdstk.Reference(
            inner, (-5, -5), rotation=3.141592653589793, x_reflection=True, columns=2, rows=1, spacing=(7, 1)
        )
    )
    layout = read_gdsii(written(top, tmp_path, middle, inner), KIT, "top")
    assert_same(layout, by_gdstk(top, KIT))
    assert len(layout.placements) == 6 + 4 + 2


def test_boxes_are_shapes(tmp_path):
    """A BOX element, which few tools write, is read as its rectangle."""
    data = write_gdsii(Layout("cell", {"metal": (Rect(0, 0, 8, 4),)}), CMOS)
    boxed = data.replace(b"\x00\x04\x08\x00", b"\x00\x04\x2d\x00").replace(b"\x00\x06\x0e\x02", b"\x00\x06\x2e\x02")
    assert boxed != data
    assert read_gdsii(boxed, CMOS).shapes == {"metal": (Rect(0, 0, 8, 4),)}


def test_a_finer_database_unit(tmp_path):
    """A file in tenths of a nanometre is read in the process's nanometres, labels and all."""
    cell = gdstk.Cell("cell")
    cell.add(
        gdstk.rectangle((0, 0), (0.3, 0.1), layer=68, datatype=20), gdstk.Label("A", (0.1, 0.05), layer=68, texttype=5)
    )
    cell.add(gdstk.FlexPath([(0, 1), (1, 1)], 0.14, simple_path=True, layer=67, datatype=20))
    layout = read_gdsii(written(cell, tmp_path, precision=1e-10), KIT)
    assert layout.shapes == {"metal1": (Rect(0, 0, 300, 100),), "li1": (Rect(0, 930, 1000, 1070),)}
    assert layout.labels == (Label("A", "metal1", 100, 50),)


def test_what_no_layer_of_the_process_names_is_passed_over(tmp_path):
    """Other layers may hold anything, slanted or not."""
    cell = gdstk.Cell("cell")
    cell.add(gdstk.rectangle((0, 0), (0.3, 0.1), layer=68, datatype=20), gdstk.ellipse((0, 0), 3, layer=200))
    cell.add(gdstk.Label("remark", (0, 0), layer=83, texttype=44))
    layout = read_gdsii(written(cell, tmp_path), KIT)
    assert layout == Layout("cell", {"metal1": (Rect(0, 0, 300, 100),)})


def test_cells_are_listed_top_first():
    """Cells that nothing places come first."""
    assert gdsii_cells(write_gdsii(nested(), CMOS)) == ("top", "inner", "middle")


def test_two_placed_layouts_of_one_name_stay_two():
    """A second layout of the same name is written under another one."""
    a, b = Layout("x", {"metal": (Rect(0, 0, 1, 1),)}), Layout("x", {"metal": (Rect(0, 0, 2, 2),)})
    top = Layout("x", {}, (), (Placement(a), Placement(b, Transform(10, 0))))
    again = read_gdsii(write_gdsii(top, CMOS), CMOS, "x").flattened()
    assert sorted(again.shapes["metal"]) == [Rect(0, 0, 1, 1), Rect(10, 0, 12, 2)]


def test_a_gzipped_stream(tmp_path):
    """A gzipped file is read as it is; a damaged one is told."""
    packed = gzip.compress(write_gdsii(nested(), CMOS))
    (tmp_path / "x.gds.gz").write_bytes(packed)
    assert read_layout(tmp_path / "x.gds.gz", CMOS).name == "top"
    assert "breaks off" in failing(packed[:-30], process=CMOS)
    assert "damaged gzip" in failing(packed[:10] + b"\xff" * 20, process=CMOS)


def failing(source, *args, process=KIT):
    with pytest.raises(LayoutdrillError) as caught:
        read_gdsii(source, process, *args, file="x.gds")
    return str(caught.value)


def test_slanted_edges_name_layer_and_place(tmp_path):
    """A slanted edge on a layer that counts is an error with cell, layer and place; a slanted path too."""
    cell = gdstk.Cell("odd")
    cell.add(gdstk.Polygon([(0, 0), (1, 0), (1.5, 1), (0, 1)], layer=68, datatype=20))
    assert failing(written(cell, tmp_path)) == (
        'x.gds: a shape on layer metal1 (68/20) of cell "odd" has a slanted edge from (1, 0) µm to (1.5, 1) µm; '
        "only horizontal and vertical edges can be read; redraw it in steps"
    )
    cell = gdstk.Cell("odd")
    cell.add(gdstk.FlexPath([(0, 0), (1, 1)], 0.14, simple_path=True, layer=67, datatype=20))
    assert "a path on layer li1 (67/20)" in failing(written(cell, tmp_path))


def test_points_off_the_grid(tmp_path):
    """A coordinate between grid points of the process is an error with its place."""
    cell = gdstk.Cell("odd")
    cell.add(gdstk.rectangle((0, 0), (0.3, 0.1004), layer=68, datatype=20))
    message = failing(written(cell, tmp_path, precision=1e-10))
    assert 'a shape on layer metal1 (68/20) of cell "odd" lies off the process\'s grid at (0.3, 0.1004) µm' in message


def test_unknown_cells_and_none_named(tmp_path):
    """A misspelt cell is suggested; several top cells ask for a name; an empty cell is told."""
    a, b, c = gdstk.Cell("nand2"), gdstk.Cell("nor2"), gdstk.Cell("bare")
    for cell in (a, b):
        cell.add(gdstk.rectangle((0, 0), (1, 1), layer=68, datatype=20))
    path = written(a, tmp_path, b, c)
    assert failing(path, "nand3") == 'x.gds: no cell "nand3"; did you mean "nand2"?'
    assert failing(path) == "x.gds: 3 top cells: nand2, nor2, bare; name the cell to read"
    assert 'cell "bare" has nothing on any layer of process open-130nm' in failing(path, "bare")


def reference_to(name):
    """Return a file with one cell "a" that places `name`."""
    top = Layout("a", {"metal": (Rect(0, 0, 1, 1),)}, (), (Placement(Layout("b", {"metal": (Rect(0, 0, 1, 1),)})),))
    return write_gdsii(top, CMOS).replace(b"\x00\x06\x12\x06b\x00", b"\x00\x06\x12\x06" + name + b"\x00")


def test_cells_that_contain_themselves_or_are_missing():
    """A circle of references, and a reference to nothing."""
    assert "cells that contain themselves: a > a" in failing(reference_to(b"a"), "a", process=CMOS)
    assert 'cell "a" places "c", which the file does not hold' in failing(reference_to(b"c"), "a", process=CMOS)


def test_turned_or_magnified_references(tmp_path):
    """Other than quarter turns, and magnified, cannot be read on a grid."""
    inner = gdstk.Cell("inner").add(gdstk.rectangle((0, 0), (1, 1), layer=68, datatype=20))
    for what, options in (
        ("turned by 30°", {"rotation": 0.5235987755982988}),
        ("magnified by 2", {"magnification": 2}),
    ):
        top = gdstk.Cell("top").add(gdstk.Reference(inner, (0, 0), **options))
        assert what in failing(written(top, tmp_path, inner), "top")


def test_an_array_of_arrays_of_arrays_is_refused(tmp_path):
    """A few hundred bytes that ask for 10¹² rectangles."""
    cells = [gdstk.Cell("c0").add(gdstk.rectangle((0, 0), (1, 1), layer=68, datatype=20))]
    for k in range(3):
        here = gdstk.Cell(f"c{k + 1}")
        here.add(gdstk.Reference(cells[-1], columns=100, rows=100, spacing=(2 * 100**k, 2 * 100**k)))
        cells.append(here)
    assert "holds over 500,000 rectangles" in failing(written(*cells[:1], tmp_path, *cells[1:]), "c3")


def test_not_a_file_not_gdsii_and_cut_short(tmp_path):
    """Each says what and where."""
    assert failing(tmp_path / "none.gds") == "x.gds: no such file; check the path"
    assert "this is a folder" in failing(tmp_path)
    assert failing(b"") == "x.gds: an empty file; give a .gds file"
    assert "not a GDSII stream file" in failing(b"PK\x03\x04 a zip")
    data = write_gdsii(nested(), CMOS)
    for size in range(4, len(data), 7):
        assert "byte" in failing(data[:size], process=CMOS)


def test_damaged_files_are_told_not_crashed_on():
    """1,000 files with a few bytes changed: read, or refused with a message."""
    data = write_gdsii(nested(), CMOS)
    rng = random.Random(7)
    messages = []
    for _ in range(1000):
        damaged = bytearray(data)
        for _ in range(rng.randint(1, 4)):
            damaged[rng.randrange(len(damaged))] = rng.randrange(256)
        try:
            read_gdsii(bytes(damaged), CMOS)
        except LayoutdrillError as error:
            messages.append(str(error))
    assert len(messages) > 100
    assert all(message.startswith("GDSII data: ") for message in messages)


def test_what_cannot_be_written():
    """A layer without a number, a name beyond ASCII, a coordinate beyond 32 bits."""
    for layout, what in (
        (Layout("a", {"magic": (Rect(0, 0, 1, 1),)}), 'layer "magic" has no GDSII number'),
        (Layout("µ", {"metal": (Rect(0, 0, 1, 1),)}), 'cell name "µ" cannot go into a GDSII file'),
        (Layout("a", {"metal": (Rect(0, 0, 1 << 40, 1),)}), "beyond what GDSII can hold"),
        (Layout("a", {}, (Label("X", "contact", 0, 0),)), 'layer "contact" has no GDSII number for labels'),
    ):
        with pytest.raises(LayoutdrillError, match=r"cannot go|has no|beyond") as caught:
            write_gdsii(layout, CMOS)
        assert what in str(caught.value)
