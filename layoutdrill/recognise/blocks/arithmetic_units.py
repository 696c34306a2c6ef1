"""Tell arithmetic and logic units by their tables, and take them apart into slices."""

from collections.abc import Sequence
from itertools import combinations, product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.arithmetic import columns_of, steps_of
from layoutdrill.recognise.blocks.neighbours import Neighbours, block
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View


def arithmetic_unit(
    inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int], view: View
) -> tuple[str, str, list[str], list[str]] | None:
    """
    Name an arithmetic and logic unit, with its outputs and its control lines: for some levels of these a sum, for
    others bit by bit.

    Its outputs see growing sets of inputs, two more each; what the first sees besides its two bits are the controls.
    """
    steps = [s for s in steps_of(supports, loose=True) if len(s[1]) > 1]
    if len(steps) < 2 or any(len(new) != 2 for _, new in steps[1:]) or len(steps[0][1]) < 4:
        return None
    column, full = columns_of(inputs)
    for pair in combinations(sorted(steps[0][1], key=view.place.__getitem__), 2):
        controls = [n for n in steps[0][1] if n not in pair]
        pairs = [pair, *(tuple(new) for _, new in steps[1:])]
        outputs = [n for n, _ in steps]
        results, numbers = [tables[n] for n in outputs], [(column[a], column[b]) for a, b in pairs]
        if len(controls) > 7:
            return None
        for carry in controls:
            fixed = [n for n in controls if n != carry]
            masks = []
            for values in product((0, 1), repeat=len(fixed)):
                mask = full
                for n, v in zip(fixed, values, strict=True):
                    mask &= column[n] if v else full ^ column[n]
                masks.append(mask)
            if not any(_is_sum(results, numbers, column[carry], mask) for mask in masks):
                continue
            if sum(_is_bitwise(inputs, results, pairs, column, mask) for mask in masks) >= 2:
                size = len(outputs)
                words = f"two numbers of {size} bits: a sum or a function bit by bit, as {len(fixed)} lines say"
                return f"{size}-bit ALU", words, outputs, controls
    return None


def _is_sum(results: Sequence[int], numbers: Sequence[tuple[int, int]], carry_in: int, mask: int) -> bool:
    """Tell whether, where the mask is set, results are the bits of the sum or the difference of two numbers."""
    for flip, turn in product((0, mask), repeat=2):
        carry, good = carry_in ^ flip, True
        for result, (x, other) in zip(results, numbers, strict=True):
            y = other ^ turn
            if (result ^ x ^ y ^ carry) & mask not in (0, mask):
                good = False
                break
            carry = (x & y) | carry & (x | y)
        if good:
            return True
    return False


def _is_bitwise(
    inputs: Sequence[str], results: Sequence[int], pairs: Sequence[tuple[str, ...]], column: dict[str, int], mask: int
) -> bool:
    """Tell whether each output depends on its own two bits alone where the mask is set, which no bit changes."""
    count = len(inputs)
    own = [set(p) for p in pairs]
    for result, mine in zip(results, own, strict=True):
        for i, n in enumerate(inputs):
            if n in mine or not any(n in p for p in own):
                continue
            if (result ^ result >> (1 << (count - 1 - i))) & mask & ~column[n]:
                return False
    return True


def slices_of(
    view: View, cones: Cones, group: list[Structure], outputs: list[str], controls: frozenset[str]
) -> tuple[Structure, ...]:
    """Return the structures as one slice a bit, each with what only its bit and higher ones see, and the rest."""
    near = Neighbours.of(view, group)
    taken: set[Structure] = set()
    slices = []
    reach = []
    for net in outputs:
        seen: dict[Structure, None] = {}
        front = [net]
        for n in front:
            drivers = near.drivers.get(n, []) + [s for s in near.readers.get(n, ()) if n in s.nets(Role.SIGNAL)]
            for s in drivers:
                if s not in seen:
                    seen[s] = None
                    front += [p.net for p in s.ports if p.role is not Role.OUTPUT]
        reach.append(seen)
    shared = set.intersection(*(set(r) for r in reach)) if len(reach) > 1 else set()
    common = {s for s in shared if not _own_bit(s, cones, controls)}
    for net, seen in zip(outputs, reach, strict=True):
        mine = [s for s in seen if s not in taken and s not in common]
        taken |= set(mine)
        if mine:
            slices.append(block(view, "ALU slice", mine, f"the bit of {net}"))
    rest = [s for s in group if s not in taken]
    return (*slices, *rest)


def _own_bit(s: Structure, cones: Cones, controls: frozenset[str]) -> bool:
    """Tell whether a structure sees data bits, not the control lines alone."""
    leaves = set().union(*(cones.leaves(n) for n in s.nets(Role.OUTPUT, Role.SIGNAL)), frozenset())
    return not leaves <= controls
