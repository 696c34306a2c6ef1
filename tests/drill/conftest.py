"""A maker without a drawing engine: each specimen is a small drawing that differs by its seed."""

from dataclasses import dataclass

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.records import Records
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import load_process
from layoutdrill.question.model import Specimen


@dataclass(frozen=True)
class Read:
    """Stands for an extraction where only the netlist matters."""

    netlist: Netlist
    findings: tuple = ()

    def channel(self, transistor):
        return (Rect(0, 0, 2, 2),)

    def net_shapes(self, net):
        return {}

    def nets_at(self, x, y):
        return ()

    def transistor_at(self, x, y):
        return None


def fake_specimen(maker, cell, process, seed, difficulty):
    known = load_cell(cell)
    within = load_process(process)
    netlist = known.netlist(within)
    layout = Layout(cell, {"metal": (Rect(0, 0, 4, 4), Rect(seed % 97, 10, seed % 97 + 4 + seed % 89, 14))})
    face = DrawnFace(layout, within, Read(netlist))
    return Specimen(cell, known.structure, known.aliases, face, netlist, known.boundary, "", seed)


@pytest.fixture
def faked(monkeypatch):
    """Replace the drawing of specimens."""
    monkeypatch.setattr(SpecimenMaker, "specimen", fake_specimen)


@pytest.fixture
def fake():
    """Return the function that stands for the maker."""
    return fake_specimen


@pytest.fixture(autouse=True)
def closed(monkeypatch):
    """Close every records file that a test opens."""
    opened = []
    begin = Records.__init__

    def noted(self, path):
        opened.append(self)
        begin(self, path)

    monkeypatch.setattr(Records, "__init__", noted)
    yield
    for records in opened:
        records.close()


@pytest.fixture
def home(tmp_path, monkeypatch):
    """An empty data folder."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    return tmp_path / "home"
