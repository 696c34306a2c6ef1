"""Contact sheets show every drawing of every cell that fits, and nothing else."""

from PIL import Image

from layoutdrill.process import load_process
from tests.bench import sheet as sheets
from tests.bench.gallery import PAPER
from tests.bench.sheet import HARDNESS, WIDTH, main


def test_a_sheet_has_a_row_of_drawings_for_each_cell(monkeypatch):
    """Two cells give eight pictures: so many separate patches lie on the paper."""
    monkeypatch.setattr(sheets, "DEGREES", ("inverter", "nand2"))
    sheet = sheets._packed(list(sheets._degrees(load_process("metal-gate-sapphire"))))
    found = 0
    inside = False
    for x in range(sheet.width):
        bare = sheet.getpixel((x, 40)) == PAPER
        found += inside and bare
        inside = not bare
    assert found == 2 * len(HARDNESS)


def test_the_command_writes_three_files_a_process(tmp_path, capsys, monkeypatch):
    """All cells, arrays, degrees of difficulty: the files are named for their processes, and told with their sizes."""
    monkeypatch.setattr(sheets, "DEGREES", ("inverter",))
    monkeypatch.setattr(sheets, "ARRAYS", ("ram_array_2x2", "rom_flash_p"))
    monkeypatch.setattr(sheets, "cell_names", lambda: ("inverter", "pass_p", "super_buffer"))
    assert main([str(tmp_path / "new"), "silicon-gate-cmos"]) == 0
    written = sorted((tmp_path / "new").iterdir())
    names = ["silicon-gate-cmos-arrays.png", "silicon-gate-cmos-degrees.png", "silicon-gate-cmos.png"]
    assert [path.name for path in written] == names
    for path in written:
        with Image.open(path) as image:
            assert image.width == WIDTH
    told = capsys.readouterr().out
    assert all(name in told for name in names)


def test_the_command_says_how_it_is_used(capsys):
    """Without a folder nothing is written."""
    assert main([]) == 2
    assert "FOLDER" in capsys.readouterr().err
