"""
Name logic by what it computes, whatever it is made of: adders, comparators, priority encoders, arithmetic units.

The outputs of a piece of logic are tabulated over the inputs of their cones and set against the function of the block,
its inputs told apart by how much each counts: the support of an output, and the number of rows that an input decides.
"""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.arithmetic import adder, carries, comparator, decimal_adder, multiplier, recoder
from layoutdrill.recognise.blocks.arithmetic_units import arithmetic_unit, slices_of
from layoutdrill.recognise.blocks.moving import shifter
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.blocks.priority import encoder
from layoutdrill.recognise.cones import MOST_LEAVES, Cones
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.terms import family
from layoutdrill.recognise.view import View

_LOGIC = ("inverter", "buffer", "NAND", "NOR", "AND", "OR", "AOI", "OAI", "AO", "OA", "XOR", "XNOR", "complex gate",
          "half adder", "full adder", "majority gate", "minority gate", "multiplexer", "inverting multiplexer",
          "transmission gate", "pass transistor", "decoder")  # fmt: skip
_OPEN = ("parity tree", "carry chain", "equality comparator", "1 multiplexer", "shifter", "incrementer",
         "ripple adder")  # fmt: skip
"""Blocks that may be parts of larger ones."""
_ROWS_ADDED = ("incrementer", "ripple adder")
FEWEST_OUTPUTS = 2
MOST_APART = 40


def join_computing(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with the logic that computes a named block joined."""
    result = structures
    for group in _pieces(view, structures):
        if not set(group) <= set(result):
            continue
        named = _named(view, group)
        if named is not None:
            term, words, slices = named
            if "multiplier" in term:  # what added its rows is no adder by itself
                result = [r for s in result for r in (s.parts if s.term.endswith(_ROWS_ADDED) else (s,))]
                parts = [p for s in group for p in (s.parts if s.term.endswith(_ROWS_ADDED) else (s,))]
            else:
                parts = group
            whole = block(view, term, parts, words)
            if slices:
                whole = Structure(whole.term, whole.transistors, whole.ports, slices, words)
            result = replaced(result, parts, whole)
    return result


def _pieces(view: View, structures: list[Structure]) -> list[list[Structure]]:
    """Return the sets of logic that share inner nets, each with several outputs and no name yet."""
    logic = [s for s in structures if family(s.term) in _LOGIC or s.term.endswith(_OPEN)]
    near = Neighbours.of(view, logic)
    ports = view.ports
    group_of: dict[Structure, int] = {s: i for i, s in enumerate(logic)}
    members: dict[int, list[Structure]] = {i: [s] for i, s in enumerate(logic)}
    for drivers in near.drivers.values():
        for s in drivers:
            for n in s.nets(Role.OUTPUT):
                for r in near.readers.get(n, ()):
                    a, b = group_of[s], group_of[r]
                    if a != b:
                        if len(members[a]) < len(members[b]):
                            a, b = b, a
                        for m in members[b]:
                            group_of[m] = a
                        members[a] += members.pop(b)
    lines: dict[str, Structure] = {}
    for s in logic:  # switches meet at nets that no gate drives
        for n in s.nets(Role.SIGNAL):
            other = lines.setdefault(n, s)
            a, b = group_of[other], group_of[s]
            if a != b and n not in ports:
                for m in members[b]:
                    group_of[m] = a
                members[a] += members.pop(b)
    groups = [g for g in members.values() if len(g) >= 3]
    if len(members) > 1 and len(logic) == len(structures) and sum(map(len, members.values())) <= MOST_APART:
        groups.insert(0, [s for g in members.values() for s in g])  # pieces that share inputs alone
    return groups


def _named(view: View, group: list[Structure]) -> tuple[str, str, tuple[Structure, ...]] | None:
    ports = view.ports
    own = {n for s in group for n in s.transistors}
    outside = {n for t in view.netlist.transistors if t.name not in own for n in t.terminals} | ports
    driven = {p.net for s in group for p in s.ports if p.role in (Role.OUTPUT, Role.SIGNAL)}
    cones = Cones(view)
    outputs = [n for n in driven & outside if cones.form(view.root(n)[0]) is not None]
    outputs = [n for n in sorted(outputs, key=view.place.__getitem__) if n in ports or n in view.gates]
    if not 1 <= len(outputs) <= 12:
        return None
    supports = {n: cones.leaves(n) for n in outputs}
    inputs = sorted(set().union(*supports.values()), key=view.place.__getitem__)
    if not 3 <= len(inputs) <= MOST_LEAVES or any(n not in outside for n in inputs):
        return None
    tables = {n: cones.table(n, inputs) for n in outputs}
    if len(outputs) < FEWEST_OUTPUTS:
        compared = comparator(inputs, supports, tables)
        return (*compared, ()) if compared is not None else None
    block_of = adder(inputs, supports, tables) or comparator(inputs, supports, tables) or encoder(inputs, tables)
    block_of = block_of or multiplier(inputs, tables) or carries(inputs, supports, tables)
    block_of = block_of or decimal_adder(inputs, supports, tables) or recoder(inputs, tables)
    if block_of is None and (term := shifter(inputs, supports, tables)):
        block_of = (term, f"moves a word of {len(outputs)} bits, by as many places as its controls say")
    if block_of is not None:
        return (*block_of, ())
    if (unit := arithmetic_unit(inputs, supports, tables, view)) is not None:
        term, words, results, controls = unit
        return term, words, slices_of(view, cones, group, results, frozenset(controls))
    return None
