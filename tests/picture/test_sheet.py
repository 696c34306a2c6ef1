"""Contact sheets show every drawing of every cell that fits, and nothing else."""

from PIL import Image

from layoutdrill.picture.gallery import PAPER
from layoutdrill.picture.sheet import HARDNESS, WIDTH, contact_sheet, main
from layoutdrill.process import load_process


def test_a_sheet_has_a_row_of_drawings_for_each_cell():
    """Two cells give eight pictures: so many separate patches lie on the paper."""
    sheet = contact_sheet(load_process("metal-gate-sapphire"), ("inverter", "nand2"))
    found = 0
    inside = False
    for x in range(sheet.width):
        bare = sheet.getpixel((x, 40)) == PAPER
        found += inside and bare
        inside = not bare
    assert found == 2 * len(HARDNESS)


def test_the_command_writes_a_file_a_process(tmp_path, capsys, monkeypatch):
    """The files are named for their processes, and each is told with its size."""
    monkeypatch.setattr("layoutdrill.picture.sheet.CELLS", ("inverter",))
    assert main([str(tmp_path / "new"), "silicon-gate-cmos"]) == 0
    written = list((tmp_path / "new").iterdir())
    assert [path.name for path in written] == ["silicon-gate-cmos.png"]
    with Image.open(written[0]) as image:
        assert image.width == WIDTH
    assert "silicon-gate-cmos.png" in capsys.readouterr().out


def test_the_command_says_how_it_is_used(capsys):
    """Without a folder nothing is written."""
    assert main([]) == 2
    assert "FOLDER" in capsys.readouterr().err
