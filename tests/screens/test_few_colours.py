"""Sixteen colours: what a terminal makes of the look that is used there."""

from collections import Counter

import pytest
from rich.color import Color, ColorSystem

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.render import render
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.screens.app import FEW_TONES

PROCESS = load_process("silicon-gate-cmos")


def tone(layers, scale=2):
    """The one of the 16 colours that most of a square of these layers is shown in (the reduction is Rich's)."""
    box = Rect(0, 0, 12 * PROCESS.grid_per_lambda, 12 * PROCESS.grid_per_lambda)
    image = render(Layout("t", dict.fromkeys(layers, (box,)), ()), PROCESS, load_look(FEW_TONES[0]), View(box, scale))
    tones = Counter()
    for count, colour in image.getcolors():
        tones[Color.from_rgb(*colour).downgrade(ColorSystem.STANDARD).number] += count
    return tones.most_common(1)[0][0]


def by_role(*roles):
    return [next(name for name, layer in PROCESS.layers.items() if layer.role == role) for role in roles]


N, P = by_role("active", "n-doping"), by_role("active", "p-doping", "well")


@pytest.mark.parametrize("scale", [1, 2, 4])
@pytest.mark.parametrize("above", [[], ["metal"]], ids=["bare", "under metal"])
def test_n_and_p_diffusion_stay_apart_in_sixteen_colours(scale, above):
    """Also where metal runs over them, and from bare ground: so no kind needs to be told."""
    metal = by_role(*above)
    n, p = tone([*N, *metal], scale), tone([*P, *metal], scale)
    assert n != p
    assert p not in (tone(metal, scale) if metal else 0, 0)


def test_poly_gates_and_contacts_stay_apart_in_sixteen_colours():
    """Each is another tone than what lies beside it."""
    poly = by_role("poly")
    assert len({tone(N), tone(P), tone(poly), tone([*N, *poly]), tone([])}) == 5
    metal = by_role("metal")
    assert tone([*N, *metal, *by_role("contact")]) not in (tone([*N, *metal]), tone(metal))
