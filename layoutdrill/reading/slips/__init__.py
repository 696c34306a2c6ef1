"""Find the usual slips in a netlist that a person read off a chip, and which transistor is the likely one."""

from dataclasses import replace

from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.reading.slips.alike import alike_slips, other_kind
from layoutdrill.reading.slips.local import ends, floating, loose, missing_supplies, untouched, wrong_bodies
from layoutdrill.reading.slips.model import KINDS, Scene, Slip
from layoutdrill.reading.slips.stages import stage_slips
from layoutdrill.reading.slips.switches import switch_slips
from layoutdrill.recognise.whole import seen
from layoutdrill.simulate.supplies import Supplies

__all__ = ["KINDS", "Scene", "Slip", "find_slips", "slips_in"]


def find_slips(netlist: Netlist, supplies: Supplies) -> tuple[Slip, ...]:
    """Return the slips found, the gravest first."""
    view, recognition = seen(netlist, supplies)
    return slips_in(Scene(view, recognition))


def slips_in(scene: Scene) -> tuple[Slip, ...]:
    """
    Return the slips of a circuit that was recognised, the gravest first, each place once.

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
    slips = [
        *odd,
        *missing_supplies(netlist, supplies, view),
        *ends(scene),
        *floating(netlist, supplies),
        *stage_slips(scene),
        *switch_slips(scene),
        *alike_slips(scene),
        *loose(netlist, supplies),
        *untouched(scene),
        *wrong_bodies(netlist, supplies),
    ]
    rank = {kind: i for i, kind in enumerate(KINDS)}
    slips.sort(key=lambda s: rank[s.kind])
    return tuple({(s.kind, s.nets, s.transistors): s for s in slips}.values())
