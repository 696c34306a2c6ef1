"""
The refractive indices of the films, n + ik over the visible range, from published tables.

Silicon: M. A. Green, Sol. Energy Mater. Sol. Cells 92 (2008) 1305, table of intrinsic silicon at 300 K.
Oxide: I. H. Malitson, J. Opt. Soc. Am. 55 (1965) 1205, Sellmeier formula of fused silica.
Nitride: H. R. Philipp, J. Electrochem. Soc. 120 (1973) 295, formula by T. Bååk, Appl. Opt. 21 (1982) 1069.
Sapphire: I. H. Malitson and M. J. Dodge, J. Opt. Soc. Am. 62 (1972) 1405, ordinary ray.
Aluminium: A. D. Rakić, Appl. Opt. 34 (1995) 4755, table.
Titanium nitride: J. Pflüger and J. Fink in Handbook of Optical Constants of Solids II (1991), table of TiN.
Poly: the index of silicon with the absorption doubled, common practice for fine-grained film.
"""

from bisect import bisect_left
from functools import lru_cache

_SILICON = (
    (380, 6.616, 0.946), (390, 6.039, 0.445), (400, 5.613, 0.296), (410, 5.330, 0.227), (420, 5.119, 0.176),
    (430, 4.949, 0.138), (440, 4.812, 0.107), (450, 4.691, 0.0863), (460, 4.587, 0.0714), (470, 4.497, 0.0621),
    (480, 4.419, 0.0550), (490, 4.350, 0.0491), (500, 4.294, 0.0442), (510, 4.241, 0.0394), (520, 4.193, 0.0364),
    (530, 4.151, 0.0331), (540, 4.112, 0.0303), (550, 4.077, 0.0280), (560, 4.045, 0.0258), (570, 4.015, 0.0241),
    (580, 3.988, 0.0225), (590, 3.963, 0.0211), (600, 3.940, 0.0199), (610, 3.918, 0.0184), (620, 3.898, 0.0174),
    (630, 3.879, 0.0164), (640, 3.861, 0.0154), (650, 3.844, 0.0144), (660, 3.828, 0.0135), (670, 3.813, 0.0127),
    (680, 3.798, 0.0119), (690, 3.784, 0.0112), (700, 3.772, 0.0105), (710, 3.759, 0.0101), (720, 3.748, 0.0096),
    (730, 3.737, 0.0089), (740, 3.727, 0.0084), (750, 3.717, 0.0078), (760, 3.708, 0.0072), (770, 3.699, 0.0067),
    (780, 3.691, 0.0064),
)  # fmt: skip
_ALUMINIUM = (
    (364.66, 0.39877, 4.3957), (413.28, 0.52135, 5.0008), (442.80, 0.60790, 5.3676), (476.87, 0.72780, 5.7781),
    (516.60, 0.87340, 6.2418), (563.57, 1.0728, 6.7839), (619.93, 1.3660, 7.4052), (652.25, 1.5724, 7.7354),
    (688.81, 1.8301, 8.0601), (729.32, 2.1606, 8.3565), (774.91, 2.6154, 8.4914), (794.78, 2.7675, 8.3866),
)  # fmt: skip
_TITANIUM_NITRIDE = (
    (354.2, 2.14, 1.06), (413.3, 1.74, 1.04), (495.9, 1.20, 1.65), (619.9, 1.32, 2.69), (826.6, 1.82, 3.81),
)  # fmt: skip

_SELLMEIER = {
    "oxide": ((0.6961663, 0.0684043), (0.4079426, 0.1162414), (0.8974794, 9.896161)),
    "nitride": ((2.8939, 0.13967),),
    "sapphire": ((1.4313493, 0.0726631), (0.65054713, 0.1193242), (5.3414021, 18.028251)),
}


@lru_cache(maxsize=1024)
def index(material: str, wavelength: float) -> complex:
    """Return n + ik at a wavelength in nm, interpolated linearly where the source is a table."""
    if material in _SELLMEIER:
        squared = (wavelength / 1000) ** 2
        return complex((1 + sum(b * squared / (squared - c * c) for b, c in _SELLMEIER[material])) ** 0.5)
    if material == "aluminium":
        return _between(_ALUMINIUM, wavelength)
    if material == "titanium-nitride":
        return _between(_TITANIUM_NITRIDE, wavelength)
    if material == "air":
        return complex(1)
    silicon = _between(_SILICON, wavelength)
    return complex(silicon.real, 2 * silicon.imag) if material == "poly" else silicon


def _between(table: tuple[tuple[float, float, float], ...], wavelength: float) -> complex:
    at = bisect_left(table, wavelength, key=lambda row: row[0])
    if at == 0:
        return complex(table[0][1], table[0][2])
    if at == len(table):
        return complex(table[-1][1], table[-1][2])
    (x0, n0, k0), (x1, n1, k1) = table[at - 1], table[at]
    part = (wavelength - x0) / (x1 - x0)
    return complex(n0 + part * (n1 - n0), k0 + part * (k1 - k0))
