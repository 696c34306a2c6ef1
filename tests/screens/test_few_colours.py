"""Sixteen colours, and none: what a terminal makes of the look that is used there."""

from collections import Counter
from itertools import pairwise

import pytest
from PIL import Image
from rich.color import Color, ColorSystem
from rich.terminal_theme import DEFAULT_TERMINAL_THEME
from textual.color import Color as Colour

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.perception import lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.screens.app import FEW_TONES
from tests.picture.legibility import legibility

PROCESS = load_process("silicon-gate-cmos")


def tone(layers, scale=2):
    """The one of the 16 colours that most of a square of these layers is shown in (the reduction is Rich's)."""
    box = Rect(0, 0, 12 * PROCESS.grid_per_lambda, 12 * PROCESS.grid_per_lambda)
    image = render(
        Layout("t", dict.fromkeys(layers, (box,)), ()), PROCESS, Shot(load_look(FEW_TONES[0]), View(box, scale))
    )
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


def in_greys(image):
    """The picture as NO_COLOR leaves it: Textual writes each colour's brightness."""
    return recoloured(image, lambda rgb: Colour(*rgb).monochrome.rgb)


def in_sixteen(image):
    """The picture on a terminal of 16 colours (the reduction is Rich's, the tones are those of its default theme)."""
    theme = DEFAULT_TERMINAL_THEME
    return recoloured(
        image, lambda rgb: tuple(Color.from_rgb(*rgb).downgrade(ColorSystem.STANDARD).get_truecolor(theme))
    )


def recoloured(image, to):
    data = image.convert("RGB").tobytes()
    tones = {rgb: bytes(to(tuple(rgb))) for rgb in {data[at : at + 3] for at in range(0, len(data), 3)}}
    return Image.frombytes("RGB", image.size, b"".join(tones[data[at : at + 3]] for at in range(0, len(data), 3)))


@pytest.mark.parametrize("shown", [in_greys, in_sixteen])
@pytest.mark.parametrize("look", FEW_TONES)
@pytest.mark.parametrize("name", ["silicon-gate-cmos", "silicon-gate-nmos", "metal-gate-cmos", "metal-gate-sapphire"])
def test_few_colours_and_none_hold_the_goals_of_legibility(name, look, shown):
    """At two half-pixels per λ: transistor from crossing 20 L*, contact from crossing 26, two close contacts 24."""
    process = load_process(name)
    for kind in {rule.kind.value for rule in process.transistors}:
        measured = legibility(load_look(look), process, 2, "colour", kind=kind, shown=shown)
        assert measured.enough, (kind, measured)


@pytest.mark.parametrize("above", [[], ["metal"]], ids=["bare", "under metal"])
def test_without_colours_each_layer_is_a_grey_of_its_own(above):
    """Ground, n and p diffusion, poly and metal differ by 4 L* in NO_COLOR's greys, also below metal."""
    metal = by_role(*above)
    box = Rect(0, 0, 12 * PROCESS.grid_per_lambda, 12 * PROCESS.grid_per_lambda)
    greys = {}
    for what, layers in {"ground": [], "n": N, "p": P, "poly": by_role("poly"), "metal": by_role("metal")}.items():
        if above and what == "metal":
            continue
        shapes = dict.fromkeys((*layers, *metal), (box,))
        image = in_greys(render(Layout("t", shapes, ()), PROCESS, Shot(load_look(FEW_TONES[0]), View(box, 2))))
        greys[what] = lightness(max(image.getcolors())[1])
    tones = sorted(greys.values())
    assert min(b - a for a, b in pairwise(tones)) >= 4, greys
