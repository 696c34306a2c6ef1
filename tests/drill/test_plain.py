"""The plain mode: every question asked and answered in lines of text, and nothing that gives the answer away."""

import io
import os
import re
import subprocess
import sys

import pytest

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.drill.plain import run_plain
from layoutdrill.drill.plain_hints import hint_lines
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.unfinished import unfinished
from layoutdrill.face.lettered import grid_lines
from layoutdrill.face.listed import at_point, meeting_lines, shape_lines
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process, process_names
from layoutdrill.question import HintStep, kinds
from tests.sampling import some, spread

pytestmark = pytest.mark.usefixtures("home")


def drawn_in():
    return [name for name in process_names() if name != "open-130nm"]


def talk(tmp_path, lines, deck="first-gates", **more):
    """
    Run a drill over these lines of input; return what was said and the sitting. Whatever is said has 79 columns at
    most, and no colours.
    """
    sitting = Sitting.open_deck(deck, records=tmp_path / "r", **{"seed": 4, "count": 3} | more)
    out = io.StringIO()
    assert run_plain(sitting, io.StringIO("".join(f"{line}\n" for line in lines)), out) == 0
    said = out.getvalue()
    assert max(map(len, said.splitlines())) <= 79
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f]", said)
    return said, sitting


def test_the_end_of_input_ends_with_a_summary_and_keeps_the_rest(tmp_path):
    """Nothing typed, nothing lost: the sitting is there to be resumed."""
    said, _ = talk(tmp_path, [])
    assert "Question 1 of 3" in said
    assert "Question 2" not in said
    assert said.endswith("0 of 3 answered, 0 right.\nThe rest is kept: start layoutdrill and choose Continue.\n")
    assert unfinished(tmp_path / "r")[0].answered == 0


def test_a_whole_sitting_in_lines(tmp_path):
    """Answers, a slip of the keyboard, a skip; the verdict says what is right and what decides."""
    said, sitting = talk(tmp_path, ["what is this", "NAND2", "skip", "", "nor2"], **own(tmp_path))
    assert "Question 3 of 3" in said
    assert said.count("What decides: ") == 3
    assert 'No structure called "what is this"' in said
    assert "1 skipped" in said
    assert sitting.position is None


def own(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text(
        "title: Mine\nabout: a\nprocesses: [silicon-gate-cmos]\nkinds: [name]\n"
        "items: [{cells: [nand2, nor2, inverter], hints: [Look well.]}]\n"
    )
    return {"deck": path}


def test_words_of_our_own(tmp_path):
    """help, again, grid, shapes, hint: none of them answers the question."""
    said, sitting = talk(tmp_path, ["help", "again", "grid", "SHAPES", "hint", *["hint"] * 8, "quit"], **own(tmp_path))
    assert sitting.summary().answered == 0
    assert said.count("Which structure is this?") == 3  # before its drawing and after it, and once more
    assert said.count("Shapes, by layer") == 2
    assert "Hint 1 of 6, 10% off the credit.\nLook well.\n" in said
    assert "There are no more hints for this question." in said


def test_drawings_can_wait_to_be_asked_for(tmp_path):
    """After “brief” no drawing is told unless asked; where a spot lies is told, what lies there is the question."""
    path = tmp_path / "mine.yaml"
    path.write_text("title: M\nabout: a\nitems: [{cells: [nand2], processes: [silicon-gate-cmos], kinds: [spot]}]\n")
    said, _ = talk(tmp_path, ["brief", "skip", "meets", "brief", "skip", "skip"], path, count=3)
    first, second, third = said.split("Question ")[1:4]
    assert "One character is" in first
    assert "One character is" not in second
    assert "Where layers meet" in second
    assert "One character is" in third
    assert all(re.search(r"\nX is at x [\d.-]+, y [\d.-]+\.\n", part) for part in (first, second, third))


def test_letters_of_the_grid_mean_the_same_through_a_sitting(tmp_path):
    """Each pile of layers keeps its letter from one drawing to the next; no letter means two piles."""
    said, _ = talk(tmp_path, ["skip"] * 6, "contact-crossing-transistor", count=6)
    process, meant = "", {}
    for line in said.splitlines():
        title = re.search(r"Process: (.+)\.$", line)
        process = title.group(1) if title else process
        row = re.match(r"([A-Za-z0-9])  ([a-z].+)$", line)
        if process and row and not re.match(r"[a-d]  ", line):
            assert meant.setdefault((process, row.group(1)), row.group(2)) == row.group(2)
    assert len(meant) > 8


def test_after_a_mistake_the_right_places_are_told(tmp_path):
    """What a picture would outline: channels after a miscount, right places after pointing beside."""
    path = tmp_path / "mine.yaml"
    item = "{cells: [nand2], processes: [silicon-gate-cmos], kinds: [KIND], difficulty: 0}"
    path.write_text(f"title: M\nabout: a\nitems: [{item.replace('KIND', 'point')}]\n")
    said, sitting = talk(tmp_path, ["-90, -90"], path, count=1)
    told = re.search(r"Right places: x ([\d.-]+) to ([\d.-]+), y ([\d.-]+) to ([\d.-]+)", " ".join(said.split()))
    x0, x1, y0, y1 = map(float, told.groups())
    question = sitting.prepare(0)
    middle = sitting.accept(question, f"{(x0 + x1) / 2}, {(y0 + y1) / 2}")
    assert kinds()["point"].grade(question, middle).correct
    path.write_text(f"title: M\nabout: a\nitems: [{item.replace('KIND', 'count')}]\n")
    for seed in range(6):
        said, sitting = talk(tmp_path, ["9 9 18"], path, count=1, seed=seed)
        if sitting.prepare(0).key.what == "transistors":
            after = said.split("What decides")[1]
            assert "The channels of the transistors:" in after
            assert re.search(r"\d \((n|p), gate \w+, \w+ to \w+\): x", after)
            return
    pytest.fail("transistors were never counted")


def test_hints_that_were_taken_lower_the_credit(tmp_path):
    """The right answer after one hint of a tenth."""
    path = tmp_path / "mine.yaml"
    item = "{cells: [nand2], processes: [metal-gate-sapphire], kinds: [name], hints: [Look.]}"
    path.write_text(f"title: M\nabout: a\nitems: [{item}]\n")
    said, sitting = talk(tmp_path, ["hint", "nand2"], path, count=1)
    assert "Credit: 90%." in said
    assert sitting.summary().credit == pytest.approx(0.9)


@pytest.mark.parametrize(
    "deck", some(["first-gates", "switches-and-latches", "n-and-p", "contact-crossing-transistor"])
)
def test_every_hint_of_every_question_is_told_in_lines_that_fit(tmp_path, deck):
    """As all that is said: see `talk`."""
    said, _ = talk(tmp_path, ["hint", "hint", "hint", "hint", "hint", "hint", "skip"] * 8, deck, count=8)
    assert said.count("Hint 1 of ") == 8


DEVICE_WORDS = re.compile(
    r"transistor|channel|nmos|pmos|\bgate\b(?! window)|drain|source|rail|VSS|VDD|inverter|latch", re.IGNORECASE
)


@pytest.mark.parametrize("process", ["silicon-gate-cmos", "metal-gate-sapphire"])
def test_a_layout_is_told_without_device_words(process):
    """Layers and coordinates only: not what they make, not what the nets are called."""
    for name in ("inverter", "latch_static", "ram_6t"):
        specimen = drawn(load_cell(name), process, 2, 0.3)
        told = [
            line
            for tell in (grid_lines, shape_lines, meeting_lines)
            for line in tell(specimen.face.layout, specimen.process)
        ]
        for line in told:
            assert not DEVICE_WORDS.search(line), line


def test_help_without_names_does_not_name_the_ports():
    """Nets and netlist are told by number; the names of ports (word, bit, clk) would be the answer."""
    specimen = drawn(load_cell("ram_6t"), "silicon-gate-cmos", 2, 0.3)
    for step in (HintStep.NETS, HintStep.NETLIST, HintStep.DEVICES, HintStep.RAILS):
        assert not re.search(r"word|bit|qn?\b", " ".join(hint_lines(step, specimen)))


# Source: areas by shapely (boolean union), an independent reference.
@pytest.mark.parametrize("process", ["silicon-gate-cmos", "metal-gate-sapphire"])
def test_the_shapes_told_are_the_shapes_drawn(process):
    """For every layer the rectangles told cover exactly the area drawn; read back from the text."""
    import shapely

    number = r"(-?\d+(?:\.\d+)?)"
    rect = re.compile(rf"x {number} to {number}, y {number} to {number}")
    for name in ("nand3", "latch_static", "xor2_tg"):
        specimen = drawn(load_cell(name), process, 5, 0.6)
        text = " ".join(line.strip() for line in shape_lines(specimen.face.layout, specimen.process))
        unit = specimen.process.grid_per_lambda
        titles = "|".join(re.escape(mask.title) for mask in specimen.process.layers.values())
        pieces = re.split(rf" ({titles}), (?:\d+ pieces?|each piece): ", text)
        parts = dict(zip(pieces[1::2], pieces[2::2], strict=True))
        for layer, mask in specimen.process.layers.items():
            shapes = specimen.face.layout.shapes.get(layer)
            if not shapes:
                continue
            told = [shapely.box(*(float(v) for v in (a, c, b, d))) for a, b, c, d in rect.findall(parts[mask.title])]
            drawn_area = shapely.unary_union([shapely.box(r.x0, r.y0, r.x1, r.y1) for r in shapes])
            told_area = shapely.affinity.scale(shapely.unary_union(told), unit, unit, origin=(0, 0))
            assert drawn_area.symmetric_difference(told_area).area == pytest.approx(0, abs=1e-6), (name, layer)


# Source: the extraction, which reads nets and channels from the layout in another way.
@pytest.mark.parametrize("cell", ["nand2", "aoi21", "latch_static"])
@pytest.mark.parametrize("process", ["silicon-gate-cmos", "metal-gate-sapphire"])
def test_a_reader_can_follow_nets_and_find_gates_by_what_meets(process, cell):
    """Every contact joins pieces of one net, all are told; a gate is where the top layer crosses a channel's area."""
    specimen = drawn(load_cell(cell), process, 2, 0.3)
    unit, layout = specimen.process.grid_per_lambda, specimen.face.layout
    text = re.sub(r"\n +", " ", "\n".join(meeting_lines(layout, specimen.process)))
    number = r"(-?\d+(?:\.\d+)?)"
    cuts = re.findall(rf"^contact, at x {number}, y {number}: (.+ \d+) to (.+ \d+)\.$", text, re.MULTILINE)
    assert len(cuts) == len(set(layout.flattened().shapes["contact"]))
    net_of = {}
    for x, y, upper, lower in cuts:
        at = round(float(x) * unit), round(float(y) * unit)
        (net,) = {net for name, net in specimen.extraction.nets_at(*at) if name != "nwell"}
        assert net_of.setdefault(upper, net) == net
        if lower.startswith("poly"):
            assert net_of.setdefault(lower, net) == net
        assert at_point(layout, specimen.process, *at).startswith(f"{upper} over contact")
    area = rf"x {number} to {number}, y {number} to {number}"
    pair = r"poly \d+ over diffusion" if process == "silicon-gate-cmos" else r"window of thin oxide \d+ over silicon"
    told = [line for line in text.splitlines() if re.search(pair, line)]
    gates = [gate for line in told for gate in line.split("; ")]  # a bent gate is told in parts, with "and" between
    assert len(gates) == len(specimen.netlist.transistors)
    for x0, x1, y0, y1 in (where for gate in gates for where in re.findall(area, gate)):
        middle = (float(x0) + float(x1)) / 2 * unit, (float(y0) + float(y1)) / 2 * unit
        assert specimen.extraction.transistor_at(*map(round, middle)) is not None


# Source: the middle of each square tested against the rectangles one by one, an independent way to the same grid.
def test_the_grid_shows_what_lies_over_each_square():
    """Every character stands for the set of layers that its legend line names."""
    specimen = drawn(load_cell("aoi21"), "silicon-gate-cmos", 3, 0.4)
    process = specimen.process
    lines = grid_lines(specimen.face.layout, process)
    legend = {}
    assert not any(line.endswith(" ") for line in lines)
    for line in lines:
        match = re.fullmatch(r"(\S)  (\S.*)", line)
        if (match and "over" in line) or (match and match[2] in {m.title for m in process.layers.values()}):
            legend[match[1]] = set(match[2].split(" over "))
    unit = process.grid_per_lambda
    rows = [line for line in lines if re.match(r"^ {0,3}-?\d+ ", line)]
    tens = next(re.finditer(r"-?\d+", lines[0]))  # the ruler: a tenth x over its column
    left = int(tens[0]) - (tens.start() - 5)
    background = {"well", "n-doping", "p-doping"}
    checked = 0
    for row in rows:
        y = int(row[:4])
        for at, letter in enumerate(row[5:]):
            x2, y2 = (2 * (left + at) + 1) * unit, (2 * y + 1) * unit
            over = {
                layer
                for layer, rects in specimen.face.layout.shapes.items()
                if any(2 * r.x0 <= x2 < 2 * r.x1 and 2 * r.y0 <= y2 < 2 * r.y1 for r in rects)
            }
            if "active" not in over:
                over = {layer for layer in over if process.layers[layer].role not in background}
            elif "poly" in over:  # the gate shields the channel from the doping
                over = {layer for layer in over if process.layers[layer].role not in {"n-doping", "p-doping"}}
            assert {process.layers[layer].title for layer in over} == (set() if letter == "." else legend[letter])
            checked += 1
    assert checked > 500


def test_every_cell_can_be_told():
    """Some cells of up to 40 transistors, where each fits first: none runs out of letters or of lines."""
    told = 0
    for name in spread(cell_names(), 12):
        cell = load_cell(name)
        fitting = (p for p in ("metal-gate-sapphire", *drawn_in()) if cell.fits(load_process(p)))
        process = next(fitting, None)
        if process is None or cell.netlist(load_process(process)).count() > 40:
            continue
        specimen = drawn(cell, process, 1, 0.3)
        lines = grid_lines(specimen.face.layout, specimen.process)
        assert not any(line.startswith("?") for line in lines)
        assert len(lines) > 5
        told += 1
    assert told >= 6


def test_the_command_answers_a_script_of_lines_and_resumes_nothing_twice(tmp_path):
    """From the command line, through a pipe: exit code 0, a summary, and the results file."""
    results = tmp_path / "results.jsonl"
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "layoutdrill",
            "drill",
            "first-gates",
            "--plain",
            "--seed",
            "2",
            "--count",
            "3",
            "--results",
            str(results),
        ],
        input="skip\nskip\nskip\n",
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "LAYOUTDRILL_HOME": str(tmp_path / "h")},
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "0 of 3 answered, 0 right, 3 skipped." in done.stdout
    assert len(results.read_text().splitlines()) == 3


@pytest.mark.parametrize(
    ("kind", "leaks"),
    [
        ("polarity", r"X is at [^:\n]*: "),
        ("rails", r"[P-T] is at [^:\n]*: "),
        ("same net", r"[P-T] is at [^:\n]*: .*(poly|metal|doping|diffusion) \d"),
        ("count", r"Counts: .*(inverter|switch|gate)s?\b"),
        ("point", r"crosshair|: point, or"),
        ("count", r"contact, \d+ piece|contact \d"),
    ],
)
def test_what_stands_with_a_question_is_not_its_answer(tmp_path, kind, leaks):
    """Layers that say n or p, or which rail; numbers of pieces that hang together; parts whose sum is the count."""
    path = tmp_path / "mine.yaml"
    path.write_text(
        f"title: M\nabout: a\nitems: [{{cells: [mux2_tg, aoi21], processes: [silicon-gate-cmos], kinds: [{kind}]}}]\n"
    )
    said, _ = talk(tmp_path, ["brief", *["skip"] * 4], path, count=4)
    asked = [part.split("Skipped.")[0] for part in re.split(r"Question \d of 4", said)[1:]]
    assert len(asked) == 4
    assert not [found.group() for part in asked if (found := re.search(leaks, part))]


def test_a_supply_is_told_by_the_numbers_of_its_shapes():
    """As in the list of shapes, where one wire has one number; taps by their places; by its name, as on pictures."""
    told = " ".join(hint_lines(HintStep.RAILS, drawn(load_cell("inverter"), "silicon-gate-cmos", 1, 0)))
    assert re.search(r"VSS, the low rail: piece \d of metal \(x ", told)
    assert re.search(r"VDD, the high rail: piece \d of metal \(x ", told)
    assert len(told) < 300


def test_the_ruler_of_a_grid_begins_with_its_first_column():
    """The first x stands over the first column, unless it would run into the tenth."""
    layout = Layout("", {"metal": (Rect(6, 0, 60, 8),)})
    assert grid_lines(layout, load_process("silicon-gate-cmos"))[0] == "     3      10        20"
    near = Layout("", {"metal": (Rect(18, 0, 60, 8),)})
    assert grid_lines(near, load_process("silicon-gate-cmos"))[0] == "      10        20"
