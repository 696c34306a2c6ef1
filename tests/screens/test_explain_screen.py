"""A file of one's own, explained on the screen: slips first, an outline to walk through, what is chosen drawn."""

import pytest
from textual.widgets import Input, Static

from layoutdrill.cells import load_cell
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.process import load_process
from layoutdrill.prove.proof import proved
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.block_schematic import block_schematic
from layoutdrill.screens.explain_screen import ExplainScreen, explained
from layoutdrill.screens.picture_view import PictureView

NAND = (
    "M{0}1 {3} {1} VDD VDD pmos\nM{0}2 {3} {2} VDD VDD pmos\nM{0}3 {3} {1} k{0} VSS nmos\nM{0}4 k{0} {2} VSS VSS nmos"
)


def adder_lines():
    """Return a 4-bit ripple adder of NAND2, nine a bit, with one gate of bit 2 misread."""
    lines = []
    for i in range(4):
        a, b, c, s, o = f"a{i}", f"b{i}", f"c{i}", f"s{i}", f"c{i + 1}"
        m, x, y, h, n, u, v = (f"{k}{i}" for k in "mxyhnuv")
        gates = ((a, b, m), (a, m, x), (b, m, y), (x, y, h), (h, c, n), (h, n, u), (c, n, v), (u, v, s), (m, n, o))
        lines += [NAND.format(f"{i}{k}", *gate) for k, gate in enumerate(gates)]
    return [line.replace("M283 c3 m2", "M283 c3 x2") for line in "\n".join(lines).splitlines()]


@pytest.fixture
def netlist_file(tmp_path):
    ports = " ".join(f"{x}{i}" for x in "abs" for i in range(4))
    lines = adder_lines()
    assert any("c3 x2" in line for line in lines)
    path = tmp_path / "adder.sp"
    path.write_text("\n".join([f".subckt adder {ports} c0 c4 VDD VSS", *lines, ".ends", ""]))
    return path


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


async def read(app, pilot, path, process=""):
    """Open the screen, give it a file, and wait until it is read."""
    await pilot.pause()
    app.push_screen(ExplainScreen())
    await pilot.pause()
    screen = app.screen
    screen.process = process
    screen.query_one("#path", Input).value = str(path)
    await pilot.press("enter")
    for _ in range(200):
        await pilot.pause(0.05)
        if screen.found is not None:
            break
    await pilot.pause()
    return screen


def said(screen):
    return str(screen.query_one("#said", Static).content)


async def test_slips_come_first_and_what_is_chosen_is_drawn(netlist_file):
    """At 80×24: the slip with its repair and its gate drawn, then a full adder of the outline drawn by its parts."""
    app = BenchApp(StartRequest())
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await read(app, pilot, netlist_file)
        tree = screen.outline
        labels = [str(node.label) for node in tree.root.children]
        assert labels[0] == "slips (1)"
        assert any("full adder" in label for label in labels[1:])
        await pilot.press("down", "down")
        await pilot.pause()
        assert tree.cursor_node.data.transistors[0] == "M283"
        assert "M283 with its gate on m2 instead of x2" in said(screen)
        assert "━━━┯━━━ VDD" in said(screen)
        await pilot.press("down")
        await pilot.pause()
        assert "┌─" in said(screen)
        assert tree.cursor_node.data.parts


async def test_beside_a_layout_the_chosen_part_is_outlined_on_the_picture(tmp_path):
    """At 120×40: a latch read from its layout; one part of it is chosen, and only its transistors have numbers."""
    process = load_process("silicon-gate-cmos")
    proof = proved(load_cell("latch_static_clock").netlist(process), process, 1)
    path = tmp_path / "latch.gds"
    path.write_bytes(write_gdsii(proof.layout, process))
    app = BenchApp(StartRequest())
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await read(app, pilot, path, process.name)
        picture = screen.query_one(PictureView)
        every = picture.subject.overlay.transistors
        assert len(every) == len(screen.found.explanation.netlist.transistors)
        tree = screen.outline
        part = tree.root.children[0]
        part.expand()
        await pilot.pause()
        tree.move_cursor(part.children[-1])
        await pilot.pause()
        names = set(part.children[-1].data.transistors)
        assert 0 < len(names) < len(every)
        assert {name for name, _ in picture.subject.overlay.transistors} == names
        assert picture.region.x == 0
        assert screen.query_one("#words").region.x >= picture.region.right


def test_a_block_is_drawn_by_its_parts_within_the_width(netlist_file):
    """Each part is a box with its nets; no line is wider than asked."""
    found = explained(netlist_file, None, None, "reflected-light").explanation
    text = block_schematic(found.recognition.structures, 60)
    assert max(map(len, text.splitlines())) <= 60
    assert text.count("┌") == len(found.recognition.structures)
    assert "a0 ─┤" in text
    assert "├─ s0" in text
