"""Film optics against published tables, formulas with known answers, and the chart of oxide colours."""

import math

import pytest

from layoutdrill.picture.materials import index
from layoutdrill.picture.optics import (
    APERTURE,
    D65,
    WAVELENGTHS,
    adapted,
    observer,
    reflectance,
    reflected,
    spectrum,
    srgb,
    transmittance,
)
from layoutdrill.picture.perception import lab
from tests.picture.oxide_chart import CHART, misses_by

FL2 = (
    1.18, 1.48, 1.84, 2.15, 3.44, 15.69, 3.85, 3.74, 4.19, 4.62, 5.06, 34.98, 11.81, 6.27, 6.63, 6.93, 7.19, 7.4,
    7.54, 7.62, 7.65, 7.62, 7.62, 7.45, 7.28, 7.15, 7.05, 7.04, 7.16, 7.47, 8.04, 8.88, 10.01, 24.88, 16.64, 14.59,
    16.16, 17.56, 18.62, 21.47, 22.79, 19.29, 18.66, 17.73, 16.54, 15.21, 13.8, 12.36, 10.95, 9.65, 8.4, 7.32, 6.31,
    5.43, 4.68, 4.02, 3.45, 2.96, 2.55, 2.19, 1.89, 1.64, 1.53, 1.27, 1.1, 0.99, 0.88, 0.76, 0.68, 0.61, 0.56, 0.54,
    0.51, 0.47, 0.47, 0.43, 0.46, 0.47, 0.4, 0.33, 0.27,
)  # fmt: skip
"""Power of a fluorescent lamp, CIE illuminant FL2, 380 to 780 nm by 5 (CIE 15, table of fluorescent illuminants)."""


def hue_of_oxide(nm, adaptation=0.25):
    """The hue angle of an oxide film on silicon under FL2, the eye only partly adapted to the lamp."""
    total = x = y = z = 0.0
    white = [0.0, 0.0, 0.0]
    for wavelength, power in zip(range(380, 785, 5), FL2, strict=True):
        share = reflectance((("oxide", nm),), "silicon", float(wavelength))
        weights = [power * w for w in observer(wavelength)]
        total += weights[1]
        white = [a + b for a, b in zip(white, weights, strict=True)]
        x, y, z = x + share * weights[0], y + share * weights[1], z + share * weights[2]
    seen = [
        c / total * (adaptation * d / (w / total) + (1 - adaptation) * d)
        for c, d, w in zip((x, y, z), D65, white, strict=True)
    ]
    _, a, b = lab(srgb((seen[0], seen[1], seen[2]), 1.1))
    return math.degrees(math.atan2(b, a)) % 360


def test_oxide_colours_follow_the_published_chart():
    """Of 40 rows (Pliskin and Conrad 1964) three quarters have the hue named; all but two come within 20 degrees."""
    misses = {nm: misses_by(hue_of_oxide(nm), names) for nm, names in CHART}
    assert sum(miss == 0 for miss in misses.values()) >= 0.75 * len(CHART)
    assert sum(miss > 20 for miss in misses.values()) <= 2, {nm: m for nm, m in misses.items() if m > 20}


def test_the_chart_would_notice_a_wrong_index():
    """With films optically a tenth too thick the chart is missed by far: the check above can fail."""
    misses = [misses_by(hue_of_oxide(1.1 * nm), names) for nm, names in CHART]
    assert sum(miss > 20 for miss in misses) > 10


@pytest.mark.parametrize(
    ("wavelength", "xyz"),
    [
        (450, (0.3362, 0.0380, 1.7721)),
        (500, (0.0049, 0.3230, 0.2720)),
        (555, (0.5121, 1.0000, 0.0057)),
        (600, (1.0622, 0.6310, 0.0008)),
    ],
)
def test_observer_is_the_cie_1931_one(wavelength, xyz):
    """The fit lies within 0.04 of the CIE 1931 tables (CIE 15; values as in Wyszecki and Stiles)."""
    assert observer(wavelength) == pytest.approx(xyz, abs=0.04)


@pytest.mark.parametrize(
    ("material", "wavelength", "n"),
    [
        ("oxide", 589.3, 1.4584),  # fused silica at the sodium line, Malitson 1965
        ("sapphire", 589.3, 1.7682),  # ordinary ray; data sheets give 1.768
        ("nitride", 632.8, 2.010),  # 1 + 2.8939 · 1.0512 = 2.0105², worked by hand; process books say 2.0
        ("silicon", 632.8, 3.874),  # between Green's rows for 630 and 640 nm
    ],
)
def test_indices_are_the_published_ones(material, wavelength, n):
    """Formulas and tables give the published index at well-known lines."""
    assert index(material, wavelength).real == pytest.approx(n, abs=0.003)


def test_bare_surfaces_reflect_what_fresnel_says():
    """Silicon 37 %, sapphire 7.7 %, aluminium about 92 % at 550 nm: (n−1)²+k² over (n+1)²+k², worked by hand."""
    assert reflectance((), "silicon", 550) == pytest.approx(0.3673, abs=0.002)
    assert reflectance((), "sapphire", 550) == pytest.approx(0.0773, abs=0.001)
    n = index("aluminium", 550)
    by_hand = ((n.real - 1) ** 2 + n.imag**2) / ((n.real + 1) ** 2 + n.imag**2)
    assert reflectance((), "aluminium", 550) == pytest.approx(by_hand)
    assert 0.90 < by_hand < 0.93  # tables of mirror coatings give 0.91 to 0.92


def test_quarter_wave_film_has_the_closed_form():
    """Quarter-wave: ((n0·ns − n1²)/(n0·ns + n1²))²; half-wave: nothing of its own (Born and Wolf)."""
    n1, ns = index("oxide", 600).real, index("sapphire", 600).real
    quarter = reflectance((("oxide", 600 / 4 / n1),), "sapphire", 600)
    assert quarter == pytest.approx(((ns - n1**2) / (ns + n1**2)) ** 2, abs=1e-9)
    half = reflectance((("oxide", 600 / 2 / n1),), "sapphire", 600)
    assert half == pytest.approx(reflectance((), "sapphire", 600), abs=1e-9)


@pytest.mark.parametrize("stack", [(), (("oxide", 517.0),), (("oxide", 300.0), ("nitride", 140.0), ("oxide", 77.0))])
def test_clear_films_lose_no_light(stack):
    """What is not reflected passes: R + T = 1 for clear films on sapphire (energy is kept)."""
    for wavelength in (400, 550, 700):
        total = reflectance(stack, "sapphire", wavelength) + transmittance(stack, "sapphire", wavelength)
        assert total == pytest.approx(1, abs=1e-9)


def test_the_quick_spectrum_is_the_exact_one():
    """Through an aperture of 0.35 the quick sum differs from both polarisations worked in full by under 0.001."""
    for stack, base in (
        ((("oxide", 1240.0),), "silicon"),
        ((("oxide", 600.0), ("poly", 400.0), ("oxide", 280.0)), "silicon"),
        ((("silicon", 520.0), ("oxide", 470.0)), "sapphire"),
    ):
        sines = [APERTURE * math.sqrt(part) for part in (1 / 6, 1 / 2, 5 / 6)]
        exact = [sum(reflectance(stack, base, w, s) for s in sines) / 3 for w in WAVELENGTHS]
        assert spectrum(stack, base) == pytest.approx(exact, abs=1e-3)


def test_enough_wavelengths():
    """Twice as many wavelengths move the colour of a thick film by less than ΔE 3."""
    stack, base = (("oxide", 1240.0),), "silicon"
    x = y = z = total = wx = wz = 0.0
    for wavelength in range(380, 751, 5):
        a, b, c = observer(wavelength)
        share = reflectance(stack, base, wavelength)
        total, wx, wz = total + b, wx + a, wz + c
        x, y, z = x + share * a, y + share * b, z + share * c
    fine = srgb((x / wx * D65[0], y / total, z / wz * D65[2]))
    coarse = srgb(adapted(reflected(stack, base, 0.0, 0.0), 0.0))
    assert math.dist(lab(fine), lab(coarse)) < 3


def test_white_balance_makes_a_mirror_white():
    """Under any lamp a perfect white comes out neutral after full adaptation, yellowish after half of it."""
    from layoutdrill.picture.optics import _light

    _, white = _light(3200.0)
    r, g, b = srgb(adapted(white, 3200.0), 0.8)
    assert max(r, g, b) - min(r, g, b) <= 1
    r, g, b = srgb(adapted(white, 3200.0, 0.5), 0.8)
    assert r > g > b


def test_colours_out_of_gamut_keep_their_brightness():
    """A colour beyond sRGB fades towards grey: its L* stays."""
    vivid = (0.2, 0.4, 0.05)
    assert lab(srgb(vivid))[0] == pytest.approx(116 * 0.4 ** (1 / 3) - 16, abs=0.5)
