"""
The colour of a stack of thin films under the microscope.

Amplitudes by the recursion of Fresnel coefficients from the base upwards (M. Born and E. Wolf, Principles of Optics,
1.6), both polarisations, averaged over the angles of the objective's aperture; then the CIE 1931 observer (analytic
fit of C. Wyman, P.-P. Sloan and P. Shirley, J. Computer Graphics Techniques 2 (2013) 2) and sRGB (IEC 61966-2-1).
"""

import cmath
import math
from functools import lru_cache

from layoutdrill.picture.colour import RGB
from layoutdrill.picture.materials import index

WAVELENGTHS = tuple(range(385, 746, 10))
"""nm; 37 of them: with half as many the colours of films beyond 1 µm go astray."""

APERTURE = 0.45
"""Numerical aperture of the objective: a 20×."""

Stack = tuple[tuple[str, float], ...]
"""Material and nm of each film, lowest first."""

XYZ = tuple[float, float, float]


def observer(wavelength: float) -> XYZ:
    """Return the CIE 1931 colour matching functions (fit of Wyman et al., 2013)."""
    return (
        1.056 * _lobe(wavelength, 599.8, 37.9, 31.0)
        + 0.362 * _lobe(wavelength, 442.0, 16.0, 26.7)
        - 0.065 * _lobe(wavelength, 501.1, 20.4, 26.2),
        0.821 * _lobe(wavelength, 568.8, 46.9, 40.5) + 0.286 * _lobe(wavelength, 530.9, 16.3, 31.1),
        1.217 * _lobe(wavelength, 437.0, 11.8, 36.0) + 0.681 * _lobe(wavelength, 459.0, 26.0, 13.8),
    )


def _lobe(x: float, middle: float, below: float, above: float) -> float:
    t = (x - middle) / (below if x < middle else above)
    return math.exp(-t * t / 2)


def reflectance(stack: Stack, base: str, wavelength: float, sine: float = 0.0) -> float:
    """Return the share of unpolarised light reflected by a stack on a thick base, seen from air."""
    return sum(abs(_amplitudes(stack, base, wavelength, sine, p=p)[0]) ** 2 for p in (False, True)) / 2


def transmittance(stack: Stack, base: str, wavelength: float) -> float:
    """Return the share of light that passes from the stack into the base, straight on."""
    through = abs(_amplitudes(stack, base, wavelength, 0.0, p=False)[1]) ** 2
    return through * index(base, wavelength).real


def _amplitudes(stack: Stack, base: str, wavelength: float, sine: float, *, p: bool) -> tuple[complex, complex]:
    below = index(base, wavelength)
    cos_below = cmath.sqrt(1 - (sine / below) ** 2)
    r = t = None
    phase: complex = 1.0
    for material, nm in (*stack, ("air", 0.0)):
        above = index(material, wavelength)
        cos_above = cmath.sqrt(1 - (sine / above) ** 2)
        if p:
            a, b = above * cos_below, below * cos_above
            r1 = (b - a) / (b + a)
        else:
            a, b = above * cos_above, below * cos_below
            r1 = (a - b) / (a + b)
        t1 = 2 * above * cos_above / (a + b)
        if r is None or t is None:
            r, t = r1, t1
        else:
            back = r * phase * phase
            share = 1 + r1 * back
            r, t = (r1 + back) / share, t1 * t * phase / share
        phase = cmath.exp(2j * math.pi * above * nm * cos_above / wavelength) if nm else 1.0
        below, cos_below = above, cos_above
    assert r is not None
    assert t is not None
    return r, t


@lru_cache(maxsize=16)
def _light(kelvin: float) -> tuple[tuple[XYZ, ...], XYZ]:
    """Return the observer weighed with a glowing body's light (0: equal energy), and the white it gives (Y = 1)."""
    weighed = []
    for wavelength in WAVELENGTHS:
        power = 1.0
        if kelvin:
            power = (560 / wavelength) ** 5 * math.expm1(1.4388e7 / (560 * kelvin))
            power /= math.expm1(1.4388e7 / (wavelength * kelvin))
        x, y, z = observer(wavelength)
        weighed.append((power * x, power * y, power * z))
    total = sum(w[1] for w in weighed)
    scaled = tuple((x / total, y / total, z / total) for x, y, z in weighed)
    white = (sum(w[0] for w in scaled), 1.0, sum(w[2] for w in scaled))
    return scaled, white


@lru_cache(maxsize=64)
def _indices(material: str) -> tuple[complex, ...]:
    return tuple(index(material, wavelength) for wavelength in WAVELENGTHS)


def spectrum(stack: Stack, base: str, aperture: float = APERTURE) -> list[float]:
    """
    Return the reflectance at each of WAVELENGTHS through an objective.

    Three angles stand for equal shares of the cone of light. The tilt counts in the path through each film; the
    Fresnel coefficients are those of normal incidence, whose mean over both polarisations is right to the second
    order of the angle.
    """
    sines = [aperture * math.sqrt(part) for part in (1 / 6, 1 / 2, 5 / 6)] if aperture else [0.0]
    films = [(_indices(material), nm) for material, nm in stack]
    total = [0.0] * len(WAVELENGTHS)
    for i, (wavelength, lowest) in enumerate(zip(WAVELENGTHS, _indices(base), strict=True)):
        below = lowest
        steps = []
        for indices, nm in films:
            n = indices[i]
            steps.append(((n - below) / (n + below), 4j * math.pi * nm / wavelength, n * n))
            below = n
        last = (1 - below) / (1 + below)
        for sine in sines:
            squared = sine * sine
            back = 0j
            for r1, turn, n2 in steps:
                r = (r1 + back) / (1 + r1 * back)
                back = r * cmath.exp(turn * cmath.sqrt(n2 - squared))
            total[i] += abs((last + back) / (1 + last * back)) ** 2
    return [share / len(sines) for share in total]


@lru_cache(maxsize=4096)
def reflected(stack: Stack, base: str, kelvin: float = 0.0, aperture: float = APERTURE) -> XYZ:
    """Return XYZ of the light reflected (a perfect mirror has Y = 1), `kelvin` being the lamp's (0: equal energy)."""
    light, _ = _light(kelvin)
    x = y = z = 0.0
    for share, (wx, wy, wz) in zip(spectrum(stack, base, aperture), light, strict=True):
        x, y, z = x + share * wx, y + share * wy, z + share * wz
    return x, y, z


@lru_cache(maxsize=1024)
def transmitted(stack: Stack, base: str, kelvin: float = 0.0) -> XYZ:
    """Return XYZ of light sent through base and stack, the base's own far side left out."""
    light, _ = _light(kelvin)
    x = y = z = 0.0
    for wavelength, (wx, wy, wz) in zip(WAVELENGTHS, light, strict=True):
        share = transmittance(stack, base, wavelength)
        x, y, z = x + share * wx, y + share * wy, z + share * wz
    return x, y, z


@lru_cache(maxsize=1024)
def transmitted_twice(stack: Stack, base: str, kelvin: float = 0.0) -> XYZ:
    """Return XYZ of light that went in through a stack, came back from a white ground below the base, and out again."""
    light, _ = _light(kelvin)
    x = y = z = 0.0
    for wavelength, (wx, wy, wz) in zip(WAVELENGTHS, light, strict=True):
        share = transmittance(stack, base, wavelength) ** 2
        x, y, z = x + share * wx, y + share * wy, z + share * wz
    return x, y, z


D65: XYZ = (0.95047, 1.0, 1.08883)


def adapted(colour: XYZ, kelvin: float, degree: float = 1.0) -> XYZ:
    """Carry the light's white over to D65; with a `degree` below 1 some of its own colour stays (von Kries)."""
    _, white = _light(kelvin)
    full = tuple(d / w for d, w in zip(D65, white, strict=True))
    x, y, z = (c * (degree * f + (1 - degree) * d) for c, f, d in zip(colour, full, D65, strict=True))
    return x, y, z


def srgb(colour: XYZ, exposure: float = 1.0, flare: float = 0.0, chroma: float = 1.0) -> RGB:
    """
    Return sRGB bytes; what lies outside its gamut fades towards the grey of its own brightness. A `chroma` below 1
    leaves only that part of the distance from grey.
    """
    greys = tuple(colour[1] * d for d in D65)
    colour = (
        greys[0] + chroma * (colour[0] - greys[0]),
        colour[1],
        greys[2] + chroma * (colour[2] - greys[2]),
    )
    x, y, z = (c * exposure + flare * d for c, d in zip(colour, D65, strict=True))
    linear = [
        3.2404542 * x - 1.5371385 * y - 0.4985314 * z,
        -0.9692660 * x + 1.8760108 * y + 0.0415560 * z,
        0.0556434 * x - 0.2040259 * y + 1.0572252 * z,
    ]
    grey = min(max(y, 0.0), 1.0)
    keep = 1.0
    for value in linear:
        if value < 0 and grey > value:
            keep = min(keep, grey / (grey - value))
        elif value > 1 and value > grey:
            keep = min(keep, (1 - grey) / (value - grey))
    r, g, b = (_encoded(grey + keep * (value - grey)) for value in linear)
    return r, g, b


def _encoded(value: float) -> int:
    value = min(max(value, 0.0), 1.0)
    return round(255 * (12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055))
