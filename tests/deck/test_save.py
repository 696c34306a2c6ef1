"""A saved picture has a size that a viewer takes: the scale of a whole chip is smaller by itself."""

from types import SimpleNamespace

import pytest

from layoutdrill.deck.save import _scale
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect


def specimen(width, height):
    """Something of a size in λ, two grid units each."""
    return SimpleNamespace(face=SimpleNamespace(box=Rect(0, 0, 2 * width, 2 * height), unit=SimpleNamespace(per=2)))


def test_a_cell_has_the_usual_scale_and_a_chip_what_fits():
    assert _scale(specimen(60, 50), 0) == 8
    assert _scale(specimen(60, 50), 40) == 40
    chip = _scale(specimen(1300, 1400), 0)
    assert chip < 8
    assert 1300 * 1400 * chip**2 <= 20_000_000 < 1300 * 1400 * (chip + 1) ** 2


def test_too_large_a_picture_is_refused_with_the_scale_that_would_do():
    with pytest.raises(LayoutdrillError, match="116 million pixels") as error:
        _scale(specimen(1300, 1400), 8)
    assert "--scale 3 or less" in str(error.value)
