"""Find the usual slips in a netlist that a person read off a chip, and which transistor is the likely one."""

from dataclasses import replace
from functools import partial

from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.reading.slips.alike import alike_slips, other_kind
from layoutdrill.reading.slips.charging import charging_slips
from layoutdrill.reading.slips.likeness import likeliest
from layoutdrill.reading.slips.local import ends, floating, loose, missing_supplies, untouched, wrong_bodies
from layoutdrill.reading.slips.mends import Mend
from layoutdrill.reading.slips.model import KINDS, Scene, Slip
from layoutdrill.reading.slips.passive import passive_slips
from layoutdrill.reading.slips.proportions import proportion_slips
from layoutdrill.reading.slips.stages import stage_slips
from layoutdrill.reading.slips.switches import switch_slips
from layoutdrill.recognise.whole import seen
from layoutdrill.simulate.effort import OutOfEffortError, bounded, leave, part, tried
from layoutdrill.simulate.supplies import Supplies

MOST_WORK = 300_000
"""Units of work for one sort of slip."""
LEAST_GAIN = 5
"""An edit is told by itself where so many kinds of place are fewer after it."""
LIKES = "others here"

__all__ = ["KINDS", "Scene", "Slip", "find_slips", "slips_in"]


def find_slips(netlist: Netlist, supplies: Supplies) -> tuple[Slip, ...]:
    """Return the slips found, the gravest first."""
    with bounded(len(netlist.transistors)):
        view, recognition = seen(netlist, supplies)
        return slips_in(Scene(view, recognition))


def slips_in(scene: Scene) -> tuple[Slip, ...]:
    """
    Return the slips of a circuit that was recognised, the gravest first, each place once.

    Where one edit makes a part equal to its likes in the same circuit, that edit is the first repair of the slip that
    is told of the place; where nothing else is told of it, it is a slip of its own if the circuit then reads better.
    """
    slips = list(_told(scene))
    netlist, supplies = scene.view.netlist, scene.supplies
    none: list[Mend] = []
    mends = tried(MOST_WORK, "one edit that explains all", partial(_likeliest, netlist, supplies), none)
    best = [m for m in mends if m.gain == mends[0].gain]
    if len(best) > 1:
        best.sort(key=lambda m: _reading_after(scene, m))
    ends = {t.name: set(t.terminals) - supplies.nets for t in netlist.transistors}
    before = (len(slips), len(scene.recognition.structures))
    for mend in best[:1]:
        around = set(mend.nets).union(*(ends[n] for n in mend.transistors)) - supplies.nets
        meant = around & (scene.dynamic | scene.open_drain)
        if not _first_repair(slips, mend, around) and mend.gain >= LEAST_GAIN and not meant:
            left, parts = _reading_after(scene, mend)
            if left <= before[0] and parts <= before[1] and (left, parts) != before:
                text = f"{_at(mend)} is unlike its likes"
                slips.append(Slip("unlike its likes", text, mend.transistors, mend.nets, mend.words))
    rank = {kind: i for i, kind in enumerate(KINDS)}
    slips.sort(key=lambda s: rank[s.kind])
    return tuple({(s.kind, s.nets, s.transistors): s for s in slips}.values())


def _likeliest(netlist: Netlist, supplies: Supplies) -> list[Mend]:
    return likeliest(netlist, supplies.high, supplies.low)


def _at(mend: Mend) -> str:
    return mend.transistors[0] if mend.transistors else " and ".join(mend.nets)


def _first_repair(slips: list[Slip], mend: Mend, around: set[str]) -> bool:
    """Put an edit first among the repairs of the slip that is told of its place; tell whether there is one."""
    devices = set(mend.transistors)
    here = [i for i, s in enumerate(slips) if devices & set(s.transistors)]
    for at in here or [i for i, s in enumerate(slips) if around & set(s.nets)]:
        slip = slips[at]
        rest = [words for words in slip.repair.split("; or ") if words and not words.startswith(mend.words)]
        repair = f"{mend.words} (then it is like {LIKES})"
        names = (*mend.transistors, *(n for n in slip.transistors if n not in devices))
        slips[at] = replace(slip, transistors=names, repair="; or ".join((repair, *rest)))
        return True
    return False


def _reading_after(scene: Scene, mend: Mend) -> tuple[int, int]:
    """Return how many slips and parts at the top a circuit has after an edit; (0, 0) where words alone do."""
    after = mend.made(scene.view.netlist)
    if after is None:
        return (0, 0)
    view, recognition = seen(after, scene.supplies)
    return len(_told(replace(scene, view=view, recognition=recognition, search=False))), len(recognition.structures)


def _told(scene: Scene) -> tuple[Slip, ...]:
    """
    Return the slips that show by themselves.

    Where one transistor alone is of the other kind, the circuit is looked at as if it were not: the rest would be seen
    in a false light.
    """
    netlist, supplies = scene.recognition.netlist, scene.supplies
    odd = tuple(other_kind(scene))
    if odd:
        names = {n for s in odd for n in s.transistors}
        turned = tuple(
            replace(t, kind=Kind.P if t.kind is Kind.N else Kind.N) if t.name in names else t
            for t in netlist.transistors
        )
        view, recognition = seen(replace(netlist, transistors=turned), supplies)
        scene = replace(scene, view=view, recognition=recognition)
    view = scene.view
    slips = list(odd)
    for where, yielded in (
        ("supplies", missing_supplies(netlist, supplies, view)),
        ("ends", ends(scene)),
        ("gates", floating(netlist, supplies)),
        ("stages", stage_slips(scene)),
        ("switches", switch_slips(scene)),
        ("charged nets", charging_slips(scene)),
        ("diodes and capacitors", passive_slips(scene)),
        ("likes", alike_slips(scene)),
        ("proportions", proportion_slips(scene)),
        ("ends", loose(scene)),
        ("ports", untouched(scene)),
        ("bodies", wrong_bodies(netlist, supplies)),
    ):
        try:
            with part(MOST_WORK):
                slips.extend(yielded)
        except OutOfEffortError:
            leave(f"further slips at {where}")
    mixed = {n for s in slips if s.kind == "other kind" for n in s.nets}
    slips = [s for s in slips if s.kind not in ("networks do not match", "undriven output") or not set(s.nets) <= mixed]
    return tuple({(s.kind, s.nets, s.transistors): s for s in slips}.values())
