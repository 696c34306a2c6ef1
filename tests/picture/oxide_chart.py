"""
The published colours of thermal oxide on silicon, and what each colour name means as a hue; older than the optics.

CHART: W. A. Pliskin and E. E. Conrad, "Nondestructive determination of thickness and refractive index of transparent
films", IBM J. Res. Dev. 8 (1964), as tabled by the University of Illinois fabrication course (chart GT7) and by
PVEducation (pvcdrom); seen under daylight fluorescent light, at normal incidence. Rows that the chart itself doubts
(“yellowish”, “bluish”, “metallic”, “dull”) are left out.

HUES: the angle h_ab of CIELAB (D65) over the colours whose name ends in the word, in the XKCD colour survey (R. Munroe,
2010, 954 names, public domain; hexadecimal values as shipped with matplotlib 3): 5th percentile, median, 95th
percentile, colours of chroma below 8 left out. A name of two hues (“violet red”) means the arc between the two medians.
"""

HUES: dict[str, tuple[int, int, int]] = {
    "tan": (48, 94, 115),  # 7 names
    "brown": (24, 78, 97),  # 45 names
    "violet": (308, 317, 348),  # 8 names
    "gold": (89, 92, 93),  # 4 names
    "orange": (43, 57, 75),  # 25 names
    "blue": (179, 269, 306),  # 111 names
    "green": (109, 135, 158),  # 171 names
    "yellow": (85, 101, 114),  # 39 names
    "pink": (330, 2, 27),  # 52 names
    "red": (9, 38, 44),  # 36 names
    "salmon": (31, 40, 42),  # 4 names
}

CHART: tuple[tuple[int, tuple[str, ...]], ...] = (
    (50, ("tan",)),
    (70, ("brown",)),
    (100, ("violet", "violet red")),
    (120, ("blue",)),
    (150, ("blue",)),
    (200, ("gold", "yellow")),
    (220, ("gold", "yellow orange")),
    (250, ("orange", "salmon")),
    (270, ("violet red",)),
    (300, ("blue", "blue violet")),
    (310, ("blue",)),
    (320, ("blue", "green blue")),
    (340, ("green",)),
    (350, ("green", "yellow green")),
    (360, ("yellow green",)),
    (370, ("yellow green",)),
    (390, ("yellow",)),
    (410, ("orange",)),
    (420, ("pink",)),
    (440, ("violet red",)),
    (460, ("violet red",)),
    (470, ("violet",)),
    (480, ("blue violet",)),
    (490, ("blue",)),
    (500, ("green blue",)),
    (520, ("green",)),
    (540, ("yellow green",)),
    (560, ("yellow green",)),
    (580, ("orange", "yellow", "pink")),
    (600, ("pink",)),
    (630, ("violet red",)),
    (720, ("green blue", "green")),
    (800, ("orange",)),
    (820, ("salmon",)),
    (860, ("violet",)),
    (870, ("blue violet",)),
    (890, ("blue",)),
    (920, ("green blue",)),
    (990, ("orange",)),
    (1000, ("pink",)),
)
"""Thickness in nm, and the names that fit what the chart says of it."""


def hue_arc(name: str) -> tuple[float, float]:
    """Return the arc of hue angles (from, to; anticlockwise) that a name or a pair of names stands for."""
    first, _, second = name.partition(" ")
    if not second:
        low, _, high = HUES[first]
        return low, high
    a, b = HUES[first][1], HUES[second][1]
    return (a, b) if (b - a) % 360 <= 180 else (b, a)


def misses_by(hue: float, names: tuple[str, ...]) -> float:
    """Return by how many degrees a hue lies outside the arcs of all the names; 0 inside one."""
    best = 360.0
    for name in names:
        low, high = hue_arc(name)
        if (hue - low) % 360 <= (high - low) % 360:
            return 0.0
        best = min(best, (low - hue) % 360, (hue - high) % 360)
    return best
