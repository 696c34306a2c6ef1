"""
What stores do by the words of the trade, as a few lines of code each; ? while nothing is known.

A latch follows while it is open and keeps while it is not; a flip-flop takes at the rise of its clock (data sheets of
the 75 and 74 types; from memory), and its set and reset go before the clock, as preset and clear of the 74 types do
(from memory), where nothing is said of both at once; a two-phase bit takes at one phase and passes on at the other
(Mead & Conway 1980; from memory); an SR latch of NORs (NANDs) is set and reset by 1 (by 0).
"""

from collections.abc import Callable


def model(cell: str, output: str) -> Callable | None:
    """Return what yields the output for steps of a library cell, None for what is not modelled here."""
    turned = output == "qn"
    if cell.startswith("latch_dynamic"):
        return lambda steps: _latch(steps, 0 if cell.endswith("_p") else 1, not turned)
    if cell.startswith("latch_") and cell != "latch_pair":
        return lambda steps: _latch(steps, 1, turned)
    if cell.startswith("ff_"):
        return lambda steps: _flip_flop(steps, turned)
    if cell.startswith("sr_"):
        return lambda steps: _set_reset(steps, cell == "sr_nand", turned)
    return None


def _told(level, turned):
    return "?" if level is None else str(level ^ turned)


def _latch(steps, opens, turned):
    kept = None
    for step in steps:
        if step["on"] == opens:
            kept = step["d"]
        yield _told(kept, turned)


def _flip_flop(steps, turned):
    kept, before = None, None
    for step in steps:
        if before is not None and (before["clk"], step["clk"]) == (0, 1):
            kept = before["d"]
        before = step
        sets, resets = step.get("s") == 1, step.get("r") == 1 or step.get("rn") == 0
        if sets or resets:
            kept = None if sets and resets else int(sets)
        yield _told(kept, turned)


def _set_reset(steps, low, turned):
    """Both at once make both outputs 0 (of NORs) or 1 (of NANDs)."""
    s, r = ("sn", "rn") if low else ("s", "r")
    q = qn = None
    for step in steps:
        sets, resets = step[s] != low, step[r] != low
        if sets and resets:
            q = qn = int(low)
        elif sets or resets:
            q, qn = int(sets), int(resets)
        elif q is not None and q == qn:
            q = qn = None
        yield _told(qn if turned else q, 0)
