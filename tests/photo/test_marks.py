"""Mark files: read with places, written as one line a mark, taken back, renamed, repeated, joined."""

import random
from dataclasses import replace

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.photo.joining import IDENTITY, Affine, join, joined
from layoutdrill.photo.model import JoinPoint, Region
from layoutdrill.photo.read import load_marks, marks_of_text, read_file
from layoutdrill.photo.repeats import written_out
from layoutdrill.photo.write import append, entry, marks_text, without_cut_line

HEAD = (
    "- photograph: 1\n- process: silicon-gate-cmos\n- scale: {pixels per lambda: 8}\n"
    "- picture: {file: a.png, size: [400, 300]}\n"
)
MARK = "- transistor: {kind: n, gate: a, ends: [VSS, y], at: [[50, 50], [30, 50], [70, 50]]}\n"


def told(tmp_path, text):
    path = tmp_path / "a.marks.yaml"
    path.write_text(text, encoding="utf-8")
    return [str(error).replace(f"{tmp_path}/", "") for error in read_file(path)[1]]


def test_every_error_is_told_with_its_place(tmp_path):
    text = (
        HEAD
        + "- transistor: {kind: q, gate: a, ends: [VSS, y], at: [[1, 1], [2, 2], [3, 3]]}\n"
        + "- wire: {net: a, layer: metal, at: [[1, 1]]}\n"
        + "- point: {net: 'a b', layer: poly, at: [1, 1]}\n"
        + "- contact: {net: a, joins: [metal, metal], at: [1, 1]}\n"
        + "- spot: {}\n"
        + "- picture: {file: ../b.png}\n"
        + "- repeat: {region: bit, columns: 2, rows: 1, right: [1, 0]}\n"
        + "- region: {name: r, outline: [[1, 1], [1, 1]]}\n"
        + "- undo: 400\n"
    )
    assert told(tmp_path, text) == [
        'a.marks.yaml:5:22: no kind of transistor "q"; known: n, p',
        "a.marks.yaml:6:36: 2 to 1000 places are expected; write them as [[x, y], [x, y]]",
        "a.marks.yaml:7:16: “a b” is no name; use letters, figures, _ . - [ ], starting with a letter; at most 64",
        "a.marks.yaml:8:28: metal is not joined to metal by a contact; name two different layers",
        'a.marks.yaml:9:3: no mark "spot"; did you mean "port"?',
        "a.marks.yaml:10:19: “../b.png” is no file beside this one; put it beside, and give its name alone",
        'a.marks.yaml:11:11: no region "bit"; there is none',
        "a.marks.yaml:12:30: the outline encloses nothing; give two corners, or three places or more",
        "a.marks.yaml:13:9: 400 is out of range; give a whole number from 1 to 4",
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title: x\n", "a list of marks is expected"),
        ("- process: silicon-gate-cmos\n", "begins with “- photograph: 1”"),
        ("- photograph: 2\n", "format 2 of mark files"),
        ("- photograph: 1\n", "no picture is named"),
        (HEAD.replace("silicon-gate-cmos", "gallium"), 'no process "gallium"'),
        (HEAD + "- join: {picture: b.png, at: [1, 1], on: [1, 1]}\n", 'no picture "b.png" to join'),
        (HEAD + "- shown: {turn: 45}\n", "not turned by 45"),
    ],
)
def test_what_a_mark_file_needs(tmp_path, text, said):
    assert said in "\n".join(told(tmp_path, text))


def test_marks_come_back_from_what_is_written(album):
    """Text → marks → text; every sort of mark that a real file has."""
    marks = load_marks(album / "nand2.marks.yaml")
    again = marks_of_text(marks_text(marks), "again")
    assert marks_text(again) == marks_text(marks)
    assert replace(again, file=marks.file, entries=marks.entries) == marks


def test_marks_are_taken_back_removed_and_renamed(tmp_path):
    path = tmp_path / "a.marks.yaml"
    point = "- point: {net: %s, layer: poly, at: [%d, 2]}\n"
    path.write_text(HEAD + point % ("a", 1) + point % ("b", 2) + point % ("c", 3), encoding="utf-8")
    assert [p.net for p in load_marks(path).points] == ["a", "b", "c"]
    append(path, ["- undo: 1"])
    assert [p.net for p in load_marks(path).points] == ["a", "b"]
    append(path, ["- remove: 5", "- rename: {net: b, to: clock}"])
    assert [p.net for p in load_marks(path).points] == ["clock"]


def test_a_line_cut_off_by_a_power_failure_is_dropped(tmp_path):
    path = tmp_path / "a.marks.yaml"
    path.write_text(HEAD + MARK + "- point: {net: a, lay", encoding="utf-8")
    assert read_file(path)[1]
    assert without_cut_line(path)
    assert len(load_marks(path).transistors) == 1
    assert not without_cut_line(path)


def test_a_repeated_cell_names_its_nets_anew(tmp_path):
    """2 × 2 cells: shared nets stay, lines along rows and columns are numbered, inner nets are each cell's own."""
    path = tmp_path / "a.marks.yaml"
    text = (
        HEAD
        + "- transistor: {kind: n, gate: word, ends: [bit, in], at: [[50, 50], [30, 50], [70, 50]]}\n"
        + "- transistor: {kind: n, gate: in, ends: [VSS, out], at: [[50, 90], [30, 90], [70, 90]]}\n"
        + "- region: {name: cell, outline: [[20, 30], [90, 110]]}\n"
        + "- repeat: {region: cell, columns: 2, rows: 2, right: [100, 0], down: [0, 120], shared: [VSS], "
        + "along rows: [word], along columns: [bit]}\n"
    )
    path.write_text(text, encoding="utf-8")
    marks = written_out(load_marks(path))
    first = [t for t in marks.transistors if t.gate.startswith("word")]
    assert sorted((t.gate, t.ends[0], t.at[0]) for t in first) == [
        ("word", "bit", (50.0, 50.0)),
        ("word", "bit[1]", (150.0, 50.0)),
        ("word[1]", "bit", (50.0, 170.0)),
        ("word[1]", "bit[1]", (150.0, 170.0)),
    ]
    assert len({t.ends[1] for t in first}) == 4
    assert {t.ends[0] for t in marks.transistors if not t.gate.startswith("word")} == {"VSS"}
    assert len(marks.regions) == 4


@pytest.mark.parametrize("seed", range(5))
def test_least_squares_find_the_map_that_made_the_points(seed):
    """An affine map with a small error in each point comes back; the residual is that error (Gauss's least squares)."""
    dice = random.Random(seed)
    true = Affine((0.9, -0.2, 40.0, 0.25, 1.1, -30.0))
    points = []
    for _ in range(200):
        at = dice.uniform(0, 4000), dice.uniform(0, 3000)
        u, v = true.of(at)
        points.append(JoinPoint("b.png", at, (u + dice.gauss(0, 1), v + dice.gauss(0, 1))))
    found = join(points, None)
    x, y = found.map.of((2000, 1500))
    assert abs(x - true.of((2000, 1500))[0]) < 0.4
    assert abs(y - true.of((2000, 1500))[1]) < 0.4
    assert 1.2 < found.residual < 1.6  # √2 for two coordinates of one pixel each
    back = found.map.inverse().of(found.map.of((123, 456)))
    assert max(abs(back[0] - 123), abs(back[1] - 456)) < 1e-6


@pytest.mark.parametrize(
    ("spots", "said"),
    [
        ([(0, 0), (10, 10)], "2 common points, and 3 or more are needed"),
        ([(0, 0), (10, 10), (20, 20), (35, 35)], "lie in a line"),
    ],
)
def test_points_that_do_not_join(spots, said):
    with pytest.raises(LayoutdrillError, match=said):
        join([JoinPoint("b.png", spot, spot) for spot in spots], None)


def test_the_first_picture_lies_on_itself(album):
    marks = load_marks(album / "nand2.marks.yaml")
    assert joined(marks, marks.pictures[0]).map == IDENTITY
    assert joined(marks, marks.pictures[1]).residual < 1e-6


def test_a_polygon_holds_what_lies_inside():
    region = Region("r", ((0, 0), (10, 0), (10, 10), (5, 5), (0, 10)))
    assert region.holds((2, 2))
    assert not region.holds((5, 8))
    assert not region.holds((11, 2))
    assert Region("r", ((0, 0), (10, 10))).holds((5, 8))


def test_a_mark_is_one_line(album):
    for mark in load_marks(album / "nand2.marks.yaml").transistors:
        assert "\n" not in entry(mark)
