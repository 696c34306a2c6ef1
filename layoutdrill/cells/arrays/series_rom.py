"""Make ROMs whose bit lines are transistors in series: the bit is whether the selected word line breaks the series."""

from collections.abc import Sequence
from dataclasses import replace

from layoutdrill.cells.arrays.floor import Floor, Notes, array, plane_load, rail_of, switch
from layoutdrill.cells.arrays.planes import width_of
from layoutdrill.cells.compact import HIGH, LOW
from layoutdrill.cells.model import Cell, Port, Role, Style
from layoutdrill.cells.tiling import Part, Tile, Tiling
from layoutdrill.process.terms import Mode


def rom_series(name: str, title: str, words: Sequence[str], *, p_kind: bool = False, implanted: bool = False) -> Cell:
    """
    Return a ROM whose bit lines are transistors in series across the word lines, a load at the end of each.

    All word lines but the selected one are on: the bit is what the load gives where the selected line has a transistor,
    and what the rail gives where it has none. Where n transistors are `implanted`, one stands at every crossing, and
    those that do not count are in depletion, so that they always conduct (US patent 4142176, from memory).
    """
    width = width_of(name, words)
    present = "0" if p_kind else "1"
    ports = [Port(f"w{r}", Role.WORD_LINE) for r in range(len(words))] + [
        Port(f"b{c}", Role.OUTPUT) for c in range(width)
    ]
    counted = [[f"w{r}" for r, word in enumerate(words) if word[c] == present] for c in range(width)]
    function = tuple(f"b{c} = !({('+' if p_kind else '*').join(on)})" for c, on in enumerate(counted))
    style = Style.ENHANCEMENT_LOAD if p_kind else Style.DEPLETION_LOAD
    selected = "1 and the others 0" if p_kind else "0 and the others 1"
    if implanted:
        look_for = (
            "a transistor at every crossing; which of them an implant has made to conduct always, no picture shows."
        )
    else:
        look_for = "transistors in series across the word lines, passed by a wire where none is; one load a bit."
    notes = Notes(
        title=f"{title}, in series" + (", p transistors" if p_kind else ", by implant" if implanted else ""),
        structure="ROM plane",
        aliases=("rom", "rom array", "read-only memory", "series rom", "nand rom"),
        boundary=f"the transistors of the plane and the loads; the word line that is selected is {selected}",
        look_for=look_for,
        mistaken_for=(("rom_flash", "the transistors of a bit line lie in parallel"),
                      ("decoder3_nand", "every line meets each address line once, at the true or at the complement")),
    )  # fmt: skip
    tiling = _series(style, words, present, implanted=implanted)
    return array(name, notes, tuple(ports), {style: tiling}, function)


def _series(style: Style, words: Sequence[str], present: str, *, implanted: bool) -> Tiling:
    """Lay a bit line a row: its load and the rail at the left, then the word lines, then the line's end."""
    floor, rail = Floor(), rail_of(style)
    begin = Tile("begin", "load of the line; the series begins on the rail", (plane_load(style, "y"),),
                 right=("y", rail), rails=(LOW, HIGH), parts=(Part.LOAD,))  # fmt: skip
    end = Tile("end", "the series ends on the line", (), left=("y", "y"), right=("y",))
    for c in range(len(words[0])):
        y, at = f"b{c}", rail
        stands = [word[c] == present or implanted for word in words]
        last = max(r for r, there in enumerate(stands) if there)
        floor.put(c, 0, begin, {"y": y}, flipped=bool(c % 2))
        for r, word in enumerate(words):
            after = at if not stands[r] else y if r == last else f"{y}_{r}"
            tile = crossing_in_series(style, stands=stands[r], counts=word[c] == present)
            floor.put(c, r + 1, tile, {"y": y, "w": f"w{r}", "s": at, "t": after}, flipped=bool(c % 2))
            at = after
        floor.put(c, len(words) + 1, end, {"y": y}, flipped=bool(c % 2))
    return floor.tiling()


def crossing_in_series(style: Style, *, stands: bool, counts: bool) -> Tile:
    """Return the crossing of a word line, upright, and a bit line in series: a transistor, or the line passed by."""
    if not stands:
        return Tile(
            "series_none", "no transistor: a wire passes the word line", (), ("y", "s"), ("y", "s"), ("w",), ("w",)
        )
    device = switch(style, "w", ("s", "t"))
    if not counts:
        device = replace(device, mode=Mode.DEPLETION)
    name, about = (
        ("series_device", "a transistor in series") if counts else ("series_implant", "one that always conducts")
    )
    return Tile(name, about, (device,), ("y", "s"), ("y", "t"), ("w",), ("w",), parts=(Part.LINK,))
