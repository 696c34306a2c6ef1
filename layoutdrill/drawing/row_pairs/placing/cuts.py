"""
Say how many cuts a contact has.

Where there is room, more than one cut lies side by side on a tall source or drain and on the head of a gate: a lost
cut then costs nothing, and wide transistors get the current that they can carry (common practice). In a row in which
a gate steps aside contacts have one cut, as they may have to lie at different heights.
"""

from collections.abc import Mapping

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.shared.technique import GateForm, Technique
from layoutdrill.value import value

_MANY = 99
_WIDE = 40
"""Grid units of a finger's width from which a transistor is a driver."""
_FINGERS = 4


@value
class Cuts:
    """The most cuts on a source or drain that a strap ties to its rail, on any other, and on the head of a gate."""

    straps: int = 1
    ends: int = 1
    heads: int = 1


SINGLE = Cuts()


def choose_cuts(job: Job, fingers: Mapping[str, int], widths: tuple[int, int], dice: Dice, difficulty: int) -> Cuts:
    """
    Return the seed's choice; tidy drawings have single cuts but on wide drivers.

    Heads of two cuts are for poly: a crossunder of silicon is told by one contact at each end.
    """
    driver = max(fingers.values(), default=1) >= _FINGERS or max(widths) >= _WIDE
    if difficulty <= 5:
        given = any(t.fingers >= _FINGERS for t in job.netlist.transistors)
        return Cuts(_MANY, _MANY) if given else SINGLE
    plain, straps, two, many = (10, 10, 20, 60) if driver else (45, 15, 22, 18)
    cuts = dice.weighted(((SINGLE, plain), (Cuts(straps=_MANY), straps), (Cuts(2, 2), two), (Cuts(_MANY, _MANY), many)))
    return Cuts(cuts.straps, cuts.ends, 2 if dice.chance(25) and job.technique.form is GateForm.POLY else 1)


def fitting(low: int, middle: int, high: int, most: int, t: Technique) -> int:
    """Return how many cuts, `most` at most, lie evenly about `middle` with their middles from `low` to `high`."""
    return max(1, min(most, 1 + min(middle - low, high - middle) // t.contact))


def offsets(count: int, t: Technique) -> range:
    """Return where the middles of cuts lie about the middle of their contact, a cut's side apart."""
    reach = (count - 1) * t.contact
    return range(-reach, reach + 1, 2 * t.contact)
