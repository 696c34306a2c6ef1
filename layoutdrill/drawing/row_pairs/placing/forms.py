"""
Name the forms of a channel, and say which transistors of a cell get which.

A ring closes round its drain: all of the drain's edge is channel, and the source lies outside. It needs a gate that
metal can cross, so it is drawn in poly only; where metal is both gate and wire the drain could not get out. A hook
goes round three sides of a drain, an elbow round two, at the end of a diffusion; both leave a side open through which
metal gets in, so they are drawn with metal gates too. A step goes aside within its channel, so that the contacts on
either side of it may move in beside it; with metal gates the row would have to be too high for that. A snake folds a
long, narrow channel below one plate of gate.
All are common practice in processes of two kinds of transistor, whose widths are free. Ratioed logic gives its
transistors their sizes, and only its long loads are folded; with buried contacts poly may end on any diffusion, and no
gate is bent round one.
"""

from collections.abc import Mapping
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.row_pairs.placing.devices import Channel, Form, fold
from layoutdrill.drawing.shared import Size
from layoutdrill.drawing.shared.technique import GateForm, Technique
from layoutdrill.netlist.model import Transistor

_SMALL, _MIDDLE = 2, 6
"""Numbers of transistors up to which a cell is small, or of middling size."""
_ROUND = {_SMALL: 16, _MIDDLE: 7}
_ELBOWS = {_SMALL: 26, _MIDDLE: 11}
_STEPS = {_SMALL: 12, _MIDDLE: 6}
_FEW = 2
"""Percent of transistors that get a ring or a hook, an elbow, a step, by the cell's size; `_FEW` in larger ones."""
_SPLIT = 35
"""Percent of transistors of two fingers whose fingers close to a ring or a hook instead."""
_BREADTH = (Form.STEP, Form.ELBOW, Form.HOOK, Form.RING)
"""The forms by how wide a channel they make. An n transistor gets a lesser one than the p transistors of its cell, as p
channels are the wider ones for the same current (common practice: holes are slower)."""
_N_WIDE = 8
"""Percent of n transistors for which that does not count."""
_FOLDED = 75
"""Percent of long channels that are folded, where one fold comes out exactly."""
_TALL = 26
"""How high a device row may be, in grid units, for all of its channels to be as wide."""


def choose_bends(job: Job, choices: Choices, dice: Dice, difficulty: int) -> tuple[Job, Choices]:
    """
    Return the job with the sizes, and the choices with the channels, fingers and heights, that forms by the seed ask
    for; tidy drawings, such as worked examples, have straight channels only.

    A row that must be much higher for them keeps the usual width for its other channels; else all are as wide as it.
    """
    t, rows = job.technique, job.rows
    fingers, sizes = dict(choices.fingers), dict(job.sizes)
    channels: dict[str, Channel] = {}
    heights = list(choices.widths)
    most = len(_BREADTH)
    by_row = sorted(job.netlist.transistors, key=lambda device: -rows[device.name])
    for device in by_row if difficulty > 5 else ():
        name, row = device.name, rows[device.name]
        if row == 0 and t.loads is None and not dice.chance(_N_WIDE):
            p_forms = [_BREADTH.index(c.form) for n, c in channels.items() if rows[n] == 1 and c.form in _BREADTH]
            most = max(p_forms, default=0)
        if choices.device_rows[row] == 1 or sizes[name].length:
            channel = _channel(device, job, choices, dice)
            if channel is not None and (channel.form is Form.SNAKE or _BREADTH.index(channel.form) < most):
                channels[name] = channel
                fingers.pop(name, None)
                heights[row] = max(heights[row], least_height(channel, t, choices.loose))
    for name, size in job.sizes.items():
        usual = choices.widths[rows[name]]
        if heights[rows[name]] > max(usual, _TALL) and not size.width and name not in channels:
            sizes[name] = Size(size.length, usual - 2 * t.inset)
    chosen = replace(choices, channels=channels, fingers=fingers, widths=(heights[0], heights[1]))
    return replace(job, sizes=sizes), chosen


def _channel(t: Transistor, job: Job, choices: Choices, dice: Dice) -> Channel | None:
    technique, size = job.technique, job.sizes[t.name]
    poly = technique.form is GateForm.POLY
    if size.length or size.width:
        if not size.length or not dice.chance(_FOLDED):
            return None
        snake = fold(size.length, size.width, technique, upright=bool(size.output), dice=dice)
        return Channel(Form.SNAKE, fold=snake) if snake is not None and _ends_reached(t, job) else None
    count = len(job.netlist.transistors)
    split = choices.fingers.get(t.name, 1)
    if t.fingers > 1 or t.source == t.drain or job.stands(t) or technique.buried is not None:
        return None
    if dice.chance(_SPLIT if split == 2 else _percent(_ROUND, count)) and split <= 2:
        either = dice.pick(t.ends)
        outer = next((net for net in t.ends if net in job.supplies), either)
        inner = t.drain if outer == t.source else t.source
        ring = poly and dice.chance(50)
        if not poly and inner in job.supplies:
            return None
        return Channel(Form.RING if ring else Form.HOOK, inner, far=dice.chance(50), tied=dice.chance(60))
    if split == 1 and dice.chance(_percent(_ELBOWS, count)):
        return Channel(Form.ELBOW, far=dice.chance(50))
    if split == 1 and poly and dice.chance(_percent(_STEPS, count)):
        return Channel(Form.STEP, step=dice.pick((-8, -6, 6, 8)))
    return None


def _percent(by_size: Mapping[int, int], count: int) -> int:
    return next((percent for most, percent in by_size.items() if count <= most), _FEW)


def _ends_reached(t: Transistor, job: Job) -> bool:
    """Tell whether both ends of a transistor get contacts, which a snake needs: it meets no other gate."""
    outer = {*job.supplies, *job.netlist.ports}
    return all(net in outer or sum(u.terminals.count(net) for u in job.netlist.transistors) > 2 for net in t.ends)


def least_height(channel: Channel, t: Technique, loose: int) -> int:
    """Return how high a device row must be for a form, as an even number; `loose` is what wires keep more apart."""
    if channel.fold is not None:
        return 0 if channel.fold.upright else channel.fold.height + 2 * t.inset
    if channel.form is Form.STEP:
        return t.gate + 2 * (t.contact_gate + t.contact + t.surround)
    low = pocket(t, loose)
    high = low if channel.form is Form.RING else t.contact // 2 + t.surround
    return low + high + (low + high) % 2


def under(t: Technique) -> int:
    """Return how far the channel of a bar lies inside the edge of the diffusion: the source passes outside it."""
    return t.diffusion_past + (t.gate - t.channel) // 2


def pocket(t: Technique, loose: int) -> int:
    """Return how far the middle of a contact that a bar goes round stays inside the edge of the diffusion."""
    apart = loose if t.form is GateForm.METAL else 0
    return apart + under(t) + (t.gate + t.channel) // 2 + t.contact_gate + t.contact // 2
