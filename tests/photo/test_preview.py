"""The preview follows the file: items, seeds, proof and questions; the first error in place, on when it is mended."""

from layoutdrill.deck.files import read_file
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.preview_screen import shots_of

GOOD = "title: t\nabout: a\nitems:\n  - {cells: [inverter, nand2], processes: silicon-gate-cmos, kinds: [name]}\n"


async def test_the_preview_follows_the_file(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    path = tmp_path / "mine.yaml"
    path.write_text(GOOD, encoding="utf-8")
    app = BenchApp(StartRequest(preview=path))
    async with app.run_test(size=(120, 36)) as pilot:
        screen = app.screen

        async def said(words):
            for _ in range(200):
                told = str(screen.query_one("#said").content)
                if words in told:
                    return told
                await pilot.pause(0.05)
            raise AssertionError(told)

        told = await said("inverter: drawn, read back, proved equal: 1 n, 1 p, 4 nets.")
        assert "→ inverter" in told
        await pilot.press("n")
        await said("NAND2: drawn, read back, proved equal")
        await pilot.press("f")
        assert screen.seed == 2
        path.write_text(GOOD.replace("nand2", "nad2"), encoding="utf-8")
        await said('mine.yaml:4:24: no cell "nad2"; did you mean "nand2"?')
        path.write_text(GOOD.replace("nand2", "nor2"), encoding="utf-8")
        await said("NOR2: drawn")


OWN = """
cells:
  - {{name: flash, title: t, look for: l, structure: NAND2, ports: {{a: input, b: input, y: output}}, {said}}}
"""


async def test_the_first_error_is_told_wherever_it_is(tmp_path, monkeypatch):
    """What an author says of a cell wrongly is told while another cell is in sight, and never shown as proved."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    path = tmp_path / "mine.yaml"
    good = GOOD.replace("nand2", "flash") + OWN.format(said="function: y = !(a*b)")
    path.write_text(good, encoding="utf-8")
    app = BenchApp(StartRequest(preview=path))
    async with app.run_test(size=(120, 36)) as pilot:
        screen = app.screen

        async def said(*words):
            for _ in range(200):
                told = str(screen.query_one("#said").content)
                if all(word in told for word in words):
                    return told
                await pilot.pause(0.05)
            raise AssertionError(told)

        await said("inverter: drawn, read back, proved equal")
        path.write_text(good.replace("!(a*b)", "!(a+b)"), encoding="utf-8")
        slip = "structure NAND2, but these transistors are a NOR2"
        told = await said(slip, "inverter: drawn")
        assert told.startswith(f"{path}:7:")
        await pilot.press("n")
        told = await said(slip, "mine.yaml:7:")
        for _ in range(40):
            if "inverter" not in (told := str(screen.query_one("#said").content)):
                break
            await pilot.pause(0.05)
        assert told.count(slip) == 1
        assert "proved equal" not in told
        assert "→" not in told
        path.write_text(good, encoding="utf-8")
        assert slip not in await said("NAND2: drawn, read back, proved equal", "→ NAND2")


def test_every_cell_of_every_item_is_shown(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text(GOOD, encoding="utf-8")
    deck, _ = read_file(path)
    assert [(shot.cell, shot.process) for shot in shots_of(deck)] == [
        ("inverter", "silicon-gate-cmos"),
        ("nand2", "silicon-gate-cmos"),
    ]
