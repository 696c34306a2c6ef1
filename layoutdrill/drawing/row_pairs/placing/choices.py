"""What a seed decides before anything is placed: fingers, widths, sides of ports, looseness, decoys, orientation."""

from collections.abc import Mapping, Sequence
from dataclasses import field

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.row_pairs.placing.cuts import SINGLE, Cuts, choose_cuts
from layoutdrill.drawing.row_pairs.placing.devices import Channel
from layoutdrill.drawing.row_pairs.placing.ordering import Weights
from layoutdrill.drawing.shared import Drawn
from layoutdrill.drawing.shared.technique import Costs, GateForm, Technique
from layoutdrill.value import value

_RAILS = ((0, 40), (2, 20), (4, 15), (8, 15), (12, 10))
"""What rails are wider than the least, which is little wider than a signal, and how often."""


@value
class Choices:
    """
    `fingers`, and `channels` that are not straight, by transistor name; `device_rows` grid rows per device row,
    `stands` which of them loads stand in; `widths` of the device rows in grid units; `sides` the side on which a port
    leaves ("" for none); `spare` tracks of the channel; `unrest` the most that the price of a line varies; `loose`
    extra distance between wires; `trials` routings of which the smallest is kept; `foreign` wires that only pass
    through; `neighbours` sides on which another cell begins; `turns` and `mirrored` the orientation; `levelled` says
    that a second metal runs along the rows and lies over the rails, not across them. `rail_extra` is what rails are
    wider than the least; `under` the device row whose doping crossunders through islands have. With `landings` wires
    leave in metal, and end on the border as broad as a contact needs; `cuts` are the most cuts of a contact.
    """

    fingers: Mapping[str, int]
    device_rows: tuple[int, int]
    stands: tuple[bool, bool]
    widths: tuple[int, int]
    weights: Weights
    steps: int
    margins: tuple[int, int]
    outer: tuple[int, int]
    spare: int
    unrest: int
    loose: int
    trials: int
    sides: Mapping[str, str]
    taps: int
    foreign: int
    neighbours: tuple[str, ...]
    turns: int
    mirrored: bool
    levelled: bool
    rail_extra: int
    under: int
    cuts: Cuts = SINGLE
    landings: bool = False
    channels: Mapping[str, Channel] = field(default_factory=dict)

    def drawn(self, job: Job) -> Drawn:
        """Return the sizes that every transistor of a job is drawn with."""
        t, heights = job.technique, {name: self.widths[row] for name, row in job.rows.items()}
        return {
            name: (self.fingers.get(name, 1), size.length or t.channel, size.width or heights[name] - 2 * t.inset)
            for name, size in job.sizes.items()
        }

    def costs(self, t: Technique) -> Costs:
        return t.levelled if self.levelled and t.levelled else t.costs

    def broad(self, t: Technique) -> int:
        """Return the width of rails in the second metal, 0 where they lie in the first only."""
        return t.broad if self.levelled else 0

    def half_rail(self, t: Technique) -> int:
        """Return half the width of a rail in the first metal."""
        extra = 0 if self.broad(t) or t.rings else self.rail_extra
        return (t.rail + extra) // 2

    def reach(self, t: Technique) -> int:
        """Return how far a rail of either metal reaches from its middle line."""
        return max(self.half_rail(t), self.broad(t) // 2)


def choose(jobs: Sequence[Job], dice: Dice, difficulty: int, extra: int) -> Choices:
    """
    Return a seed's choices for what is drawn alike, most of them for the largest; `difficulty` runs from 0 (tidy) to
    100 (crowded), `extra` grows with failed attempts.
    """
    job = max(jobs, key=lambda job: len(job.netlist.transistors))
    technique, count = job.technique, len(job.netlist.transistors)
    least = [max(job.least_heights[row] for job in jobs) for row in (0, 1)]
    stands = any(job.stand_rows[0] for job in jobs), any(job.stand_rows[1] for job in jobs)
    fingers = _fingers(job, dice, difficulty)
    loose = 2 * dice.between(0, difficulty // 33) if difficulty > 20 else 0
    tracks = _device_rows(technique, count, dice, difficulty)
    if any(stands) or any(least):
        tracks = 1 + stands[0], 1 + stands[1]
    pitch = technique.pitch + loose
    bodies = [technique.body + (k - 1 - s) * pitch for k, s in zip(tracks, stands, strict=True)]
    needed = list(map(max, bodies, least))
    drawn = _heights(technique, dice)
    low, high = (n if w and technique.loads else max(n, c) for n, c, w in zip(needed, drawn, least, strict=True))
    levelled = technique.levelled is not None and dice.chance(50)
    return Choices(
        sides=_sides(job, dice, levelled=levelled),
        fingers=fingers,
        device_rows=tracks,
        stands=stands,
        widths=(low, high),
        weights=Weights(gap=max(12, 40 - difficulty // 4), span=dice.between(2, 6), unlike=dice.between(1, 6)),
        steps=60 if difficulty >= 80 else 500,
        margins=(1 + extra // 2, 1 + (extra + 1) // 2),
        outer=(1, 1),
        spare=dice.below(2) + extra,
        unrest=3 + difficulty // 8,
        loose=loose,
        trials=1 if difficulty > 60 or count > 20 else 2,
        taps=dice.between(1, 3),
        foreign=0 if extra > 1 else _foreign(dice, difficulty, count),
        neighbours=tuple(side for side in ("left", "right") if dice.chance(max(0, difficulty - 45))),
        turns=dice.below(4) if difficulty > 10 else 2 * dice.below(2),
        mirrored=dice.chance(50),
        levelled=levelled,
        rail_extra=dice.weighted(_RAILS) if difficulty > 10 else 0,
        under=int(dice.chance(30)),
        cuts=choose_cuts(job, fingers, (low, high), dice, difficulty),
    )


def _fingers(job: Job, dice: Dice, difficulty: int) -> dict[str, int]:
    """Split wide transistors of small cells into fingers, p and n of one gate or of one switch alike."""
    transistors = job.netlist.transistors
    fingers = {t.name: t.fingers for t in transistors if t.fingers > 1}
    count = len(transistors)
    if count <= 6 and difficulty > 5:
        percent = (12 + difficulty // 2) if count <= 2 else (4 + difficulty // 5)
        free = [t for t in transistors if not t.width and not job.stands(t) and t.name not in fingers]
        for t in free:
            if t.name not in fingers and dice.chance(percent):
                alike = [u for u in free if u.gate == t.gate or set(u.ends) == set(t.ends)]
                fingers |= dict.fromkeys((u.name for u in alike), 2 if dice.chance(75) else 3)
    return fingers


def _heights(t: Technique, dice: Dice) -> tuple[int, int]:
    """
    Return the heights of the device rows. Of two kinds the p channels are about twice as wide as the n channels, as
    holes are the slower carriers (common practice).
    """
    (least, most), upper = t.widths
    low = 2 * dice.between(least // 2, most // 2)
    if t.loads is not None:
        return low, 2 * dice.between(upper[0] // 2, upper[1] // 2)
    wide = (low - 2 * t.inset) * dice.between(170, 220) // 100
    return low, wide + wide % 2 + 2 * t.inset


def _sides(job: Job, dice: Dice, *, levelled: bool) -> dict[str, str]:
    """Choose the side on which each port leaves: more often along the rails than across them."""
    transistors = job.netlist.transistors
    drivers = {t.gate for t in transistors}
    driven = {end for t in transistors for end in t.ends}
    over = 0 if job.technique.rings else 8
    if job.technique.levelled:
        over = 4 if levelled else 25
    sides = {}
    for port in job.netlist.ports:
        if port not in job.supplies:
            within = (24 if port in drivers else 10) if port in driven else 0  # a gate hangs on a wire that leads in
            sides[port] = dice.weighted((("left", 30), ("right", 30), ("bottom", over), ("top", over), ("", within)))
    return sides


def _device_rows(technique: Technique, count: int, dice: Dice, difficulty: int) -> tuple[int, int]:
    """Let other wires run over wide transistors, where gates do not block them; of two kinds p are the wide ones."""
    if technique.form is not GateForm.POLY or count < 6 or not dice.chance(difficulty // 2):
        return 1, 1
    return 1 if technique.loads is None else dice.between(1, 2), dice.between(1, 2)


def _foreign(dice: Dice, difficulty: int, count: int) -> int:
    most = 1 + (count > 4) + (difficulty > 70)
    return sum(1 for _ in range(most) if dice.chance(difficulty * 2 // 3))
