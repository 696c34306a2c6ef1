"""OASIS by way of gdstk (0.9), the library that an extra installs."""

import gdstk
import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.files import read_layout
from layoutdrill.layout.model import Label
from layoutdrill.layout.oasis import read_oasis
from layoutdrill.process import load_process

KIT = load_process("open-130nm")


def test_an_oasis_file(tmp_path):
    """Shapes, labels and references are those of the file's GDSII form."""
    inner = gdstk.Cell("inner").add(gdstk.rectangle((0, 0), (0.3, 0.1), layer=68, datatype=20))
    top = gdstk.Cell("top").add(gdstk.Reference(inner, (1, 2)), gdstk.Label("A", (0.1, 0.2), layer=68, texttype=5))
    library = gdstk.Library("test").add(top, inner)
    library.write_oas(tmp_path / "x.oas")
    layout = read_oasis(tmp_path / "x.oas", KIT)
    assert layout.flattened().shapes == {"metal1": (Rect(1000, 2000, 1300, 2100),)}
    assert read_layout(tmp_path / "x.oas", KIT) == layout
    assert layout.labels == (Label("A", "metal1", 100, 200),)


def test_not_oasis(tmp_path):
    """A missing file and another sort of file are told."""
    with pytest.raises(LayoutdrillError, match="no such file"):
        read_oasis(tmp_path / "none.oas", KIT)
    (tmp_path / "x.oas").write_bytes(b"something else")
    with pytest.raises(LayoutdrillError, match="not an OASIS file"):
        read_oasis(tmp_path / "x.oas", KIT)
