"""Recognise a netlist: structures from the inside out, then the netlist as one thing, then its ports by role."""

from dataclasses import replace
from functools import partial

from layoutdrill.netlist.model import Netlist
from layoutdrill.recognise.arrays import gather
from layoutdrill.recognise.bit_lines import find_c_elements, find_columns, find_dynamic_cells
from layoutdrill.recognise.canonical import ordered
from layoutdrill.recognise.concluding import conclude
from layoutdrill.recognise.crossed import find_held_pairs, find_set_reset
from layoutdrill.recognise.joining import device_order, in_netlist_order, in_order
from layoutdrill.recognise.latches import find_latches
from layoutdrill.recognise.logic import find_logic
from layoutdrill.recognise.looking import look
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.recognise.ram_cells import find_ram_cells
from layoutdrill.recognise.single_phase import find_single_phase
from layoutdrill.recognise.stores import build_stores
from layoutdrill.recognise.switching import (
    absorb_controls,
    find_buses,
    find_level_shifters,
    find_precharged,
    find_restorers,
    find_schmitts,
    find_split_drivers,
    find_super_buffers,
    find_switched_inverters,
    find_tristate_buffers,
)
from layoutdrill.recognise.trees import find_trees
from layoutdrill.recognise.unmatched import find_unmatched
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import Called, Work
from layoutdrill.simulate.effort import bounded, tried
from layoutdrill.simulate.supplies import SuppliesLike, find_supplies


def recognise(netlist: Netlist, supplies: SuppliesLike = None) -> Recognition:
    """
    Return what a netlist is made of, and what it is as a whole.

    The supplies are those given, else found by label, else inferred. Parts that fit nothing known are listed so.
    """
    return seen(netlist, supplies)[1]


def seen(netlist: Netlist, supplies: SuppliesLike = None) -> tuple[View, Recognition]:
    """Return the gates and switches that a netlist was seen as, with what was recognised in it."""
    with bounded(len(netlist.transistors)):
        rails = find_supplies(netlist, supplies)
        canonical = ordered(netlist, rails)
        view = look(canonical.netlist, rails, canonical.place)
        work = Work.start(view)
        for step in _STEPS:
            tried(MOST_WORK, PARTS, partial(step, work), None)
        _rest(work)
        absorb_controls(work)
        built = in_netlist_order(view.netlist, (b.structure for i, b in enumerate(work.built) if _alive(work, i)))
        gathered = tried(MOST_WORK, PARTS, lambda: tuple(gather(view, built)), built)
        return view, _as_written(conclude(view, in_netlist_order(view.netlist, gathered)), netlist)


def _stores(work: Work) -> None:
    build_stores(work, find_latches(work))


_STEPS = (
    find_schmitts, find_restorers, find_super_buffers, find_level_shifters, find_ram_cells, find_columns,
    find_dynamic_cells, find_c_elements, find_single_phase, find_held_pairs, find_unmatched, find_precharged,
    find_trees, _stores, find_set_reset, find_switched_inverters, find_tristate_buffers, find_split_drivers, find_buses,
    absorb_controls, find_logic,
)  # fmt: skip
PARTS = "which parts belong together"
MOST_WORK = 300_000
"""Units of work for one step."""


def _as_written(recognition: Recognition, netlist: Netlist) -> Recognition:
    """Return what was found with the transistors in the order in which the netlist has them."""
    order = device_order(netlist)

    def turned(s: Structure) -> Structure:
        names = tuple(sorted(s.transistors, key=order.__getitem__))
        parts = tuple(turned(p) for p in s.parts)
        if names == s.transistors and all(new is old for new, old in zip(parts, s.parts, strict=True)):
            return s
        return replace(s, transistors=names, parts=parts)

    structures = in_order(order, (turned(s) for s in recognition.structures))
    leftover = tuple(sorted(recognition.leftover, key=order.__getitem__))
    return replace(recognition, netlist=netlist, structures=structures, leftover=leftover)


def _alive(work: Work, number: int) -> bool:
    """Tell whether a built structure still owns its own gates and links (it may have been absorbed)."""
    built = work.built[number]
    return any(work.owner.get(g) == number for g in built.gates) or any(
        work.link_owner.get(k) == number for k in built.links
    )


def _rest(work: Work) -> None:
    """Give every gate and link that is still free a structure of its own."""
    view = work.view
    absorb_controls(work)
    for k in sorted(work.free_links):
        link = view.links[k]
        structure = view.link_structure(link)
        work.build(structure.term, set(), {k}, list(structure.ports), structure.function)
    absorb_controls(work)
    for net in sorted(work.free_gates, key=lambda n: (view.steady(n), view.place[n])):
        if net in work.free_gates:
            structure = view.gate_structure(view.gates[net])
            called = Called(structure.term, notes=structure.notes)
            built = work.build(called, {net}, set(), list(structure.ports), structure.function)
            absorb_controls(work, built)
