"""Lines that lead across a die: selects, clocks, who drives them, and where a pad's signal goes."""

from collections.abc import Mapping, Sequence

from layoutdrill.dice import Dice
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.question.block.key import APART, MARKS, FourMarks, chosen_mark, on_nets
from layoutdrill.question.die_parts import INPUT
from layoutdrill.question.die_plan import EDGES, Area, Bond, DiePlan, extent_of
from layoutdrill.question.model import Mark, Question, Specimen
from layoutdrill.question.places import apart
from layoutdrill.recognise.model import Structure

_INVERTERS = 4
"""Inverters that may stand one after another at a pad, at most."""
GATES = ("NAND", "NOR", "AND", "OR", "inverter", "buffer")


def ask_select(specimen: Specimen, plan: DiePlan, dice: Dice, _: str = "") -> Question | None:
    """Ask which line of the decoder selects the register row."""
    decoder, row = plan.area("decoder"), plan.area("register row")
    if decoder is None or row is None:
        return None
    lines = list(decoder.structure.nets(Role.OUTPUT))
    clocks = _shared(row)
    leading = [net for net in lines if _reaches(plan, net, clocks)]
    if len(lines) != len(MARKS) or len(leading) != 1:
        return None
    nets = dice.shuffled(lines)
    places = on_nets(specimen, nets, dice)
    if places is None:
        return None
    lettered = dict(zip(MARKS, nets, strict=True))
    would = {
        letter: f"From {letter} one comes by {_gates_after(plan, net)}, and not to the clock lines of the row."
        for letter, net in lettered.items()
    }
    return chosen_mark(
        specimen,
        FourMarks(
            "select",
            "Each mark is on a line of the decoder. Which line selects the register row?",
            "selects the register row",
            next(letter for letter, net in lettered.items() if net == leading[0]),
            places,
            would,
            "From that line one gate, with the clock and the write line beside it, drives the clock lines of the row.",
        ),
    )


def ask_signal(specimen: Specimen, plan: DiePlan, dice: Dice, _: str = "") -> Question | None:
    """Ask on which wire a pad's signal goes on behind its inverters."""
    inputs = _entries(specimen, plan)
    if len(inputs) < len(MARKS):
        return None
    chosen = dice.sample(inputs, len(MARKS))
    bond = chosen[0][0]
    order = dice.shuffled(chosen)
    places = on_nets(specimen, [net for _, net in order], dice)
    if places is None:
        return None
    lettered = dict(zip(MARKS, order, strict=True))
    would = {
        letter: f"The wire at {letter} comes from the pad {_at(specimen, own)}."
        for letter, (own, _) in lettered.items()
    }
    return chosen_mark(
        specimen,
        FourMarks(
            "signal",
            "Follow the pad A inwards through its two inverters. Which mark is on the wire that carries its signal on?",
            "carries it on",
            next(letter for letter, (own, _) in lettered.items() if own is bond),
            places,
            would,
            "From the pad through its two inverters, below the broad rail, up to the upright wire of the channel.",
            more=(Mark("A", *bond.rect.centre),),
        ),
    )


def ask_gate(specimen: Specimen, plan: DiePlan, dice: Dice, _: str = "") -> Question | None:
    """Ask to follow a pad's signal all the way to a gate: which of four transistors does it switch?"""
    zone = _pad_zone(specimen, plan)
    gates: list[tuple[Bond, str, Rect]] = []
    for bond, net in dice.shuffled(_entries(specimen, plan)):
        own = [t.name for t in specimen.netlist.transistors if t.gate == net and _inside(specimen, t.name, zone)]
        near, per = [rect.centre for _, _, rect in gates], specimen.process.grid_per_lambda
        for name in dice.shuffled(own):
            channel = specimen.extraction.channel(name)[0]
            if apart(channel.centre, near, APART * per):
                gates.append((bond, name, channel))
                break
    if len(gates) < len(MARKS):
        return None
    chosen = gates[: len(MARKS)]
    bond = chosen[0][0]
    order = dice.shuffled(chosen)
    lettered = dict(zip(MARKS, order, strict=True))
    would = {
        letter: f"The gate at {letter} hangs on the pad {_at(specimen, own)}."
        for letter, (own, _, _) in lettered.items()
    }
    return chosen_mark(
        specimen,
        FourMarks(
            "gate",
            "Follow the pad A inwards through its two inverters, and on to a gate. Which ringed gate does it switch?",
            "is switched by it",
            next(letter for letter, (own, _, _) in lettered.items() if own is bond),
            {letter: rect.centre for letter, (_, _, rect) in lettered.items()},
            would,
            "From the pad through its two inverters, below the broad rail, along its wire of the channel, and in at "
            "the row in which that gate stands.",
            more=(Mark("A", *bond.rect.centre),),
            ring=True,
        ),
    )


def ask_clock(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask which line all the cells of a part have in common as their clock."""
    for area in dice.shuffled([a for a in plan.rows() if a.family == about or not about]):
        shared = [net for net in sorted(_shared(area)) if net not in plan.recognition.netlist.ports]
        own = list(dict.fromkeys((*area.structure.nets(Role.INPUT), *area.structure.nets(Role.OUTPUT))))
        others = [net for net in own if net not in shared]
        if not shared or len(others) < len(MARKS) - 1:
            continue
        clock = dice.pick(shared)
        nets = dice.shuffled([clock, *dice.sample(others, len(MARKS) - 1)])
        places = on_nets(specimen, nets, dice)
        if places is None:
            continue
        letter = MARKS[nets.index(clock)]
        repeat = area.words.repeat
        would = {
            mark: f"The line at {mark} is met by {_met(specimen, area, net)} of {len(area.cells)} {repeat}s."
            for mark, net in zip(MARKS, nets, strict=True)
        }
        return chosen_mark(
            specimen,
            FourMarks(
                "clock",
                f"Each mark is on a wire of {area.words.said}. Which wire is common to all its {repeat}s, as their "
                "clock?",
                "clocks them all",
                letter,
                places,
                would,
                f"A clock runs along the part and meets a gate in each of its {len(area.cells)} {repeat}s; data lines "
                "end at one of them.",
                areas=(area.rect,),
            ),
        )
    return None


def ask_driver(specimen: Specimen, plan: DiePlan, dice: Dice, about: str = "") -> Question | None:
    """Ask which gate drives the common line of a part."""
    gates = [s for s in plan.recognition.structures if s.term.startswith(GATES) and s.nets(Role.OUTPUT)]
    for area in dice.shuffled([a for a in plan.rows() if a.family == about or not about]):
        shared = _shared(area)
        driving = [s for s in gates if set(s.nets(Role.OUTPUT)) & shared]
        rest = [s for s in gates if not set(s.nets(Role.OUTPUT)) & shared]
        extents = {s: extent_of(specimen, s.transistors[:1]) for s in (*driving, *rest)}
        if not driving or len(rest) < len(MARKS) - 1 or None in extents.values():
            continue
        right = dice.pick(driving)
        chosen = _spread(right, dice.shuffled(rest), extents, APART * specimen.process.grid_per_lambda)
        if len(chosen) < len(MARKS):
            continue
        order = dice.shuffled(chosen)
        places = {
            letter: extent.centre
            for letter, s in zip(MARKS, order, strict=True)
            if (extent := extents[s]) is not None
        }  # fmt: skip
        would = {
            letter: f"The {s.term} at {letter} drives {_gates_after(plan, s.nets(Role.OUTPUT)[0])}."
            for letter, s in zip(MARKS, order, strict=True)
        }
        return chosen_mark(
            specimen,
            FourMarks(
                "driver",
                "Each ring is on a transistor of a gate. Which of these gates drives the clock line of "
                f"{area.words.said}?",
                "drives it",
                MARKS[order.index(right)],
                places,
                would,
                f"Follow the clock line out of {area.words.said}: it ends at the output of that {right.term}.",
                areas=(area.rect,),
                ring=True,
            ),
        )
    return None


def _spread(
    right: Structure, rest: Sequence[Structure], extents: Mapping[Structure, Rect | None], far: int
) -> list[Structure]:
    """Return the right gate and others, as many as there are marks, that stand apart from one another."""
    chosen, places = [right], [r.centre for r in (extents[right],) if r is not None]
    for other in rest:
        extent = extents[other]
        if len(chosen) < len(MARKS) and extent is not None and apart(extent.centre, places, far):
            chosen.append(other)
            places.append(extent.centre)
    return chosen


def _shared(area: Area) -> set[str]:
    """Return the nets that clock or open all the cells of a part."""
    return set(area.structure.nets(Role.CLOCK, Role.ENABLE))


def _entries(specimen: Specimen, plan: DiePlan) -> list[tuple[Bond, str]]:
    """Return each input's pad with the net that leads into the core, behind the inverters that stand at the pad."""
    zone = _pad_zone(specimen, plan)
    core = {t.name for t in specimen.netlist.transistors if _inside(specimen, t.name, zone)}
    entries: list[tuple[Bond, str]] = []
    for s in plan.recognition.structures:
        bonds = [b for b in plan.bonds if b.does == INPUT and s.term == "input pad" and b.net in s.nets(Role.INPUT)]
        for bond, net in ((bond, out) for bond in bonds for out in s.nets(Role.OUTPUT)[:1]):
            inward = _inward(specimen.netlist, net, core)
            if inward:
                entries.append((bond, inward))
    return entries


def _inward(netlist: Netlist, net: str, core: set[str]) -> str:
    """Follow a net on through inverters until it meets a transistor of the core; "" where none."""
    for _ in range(_INVERTERS):
        met = [t for t in netlist.transistors if t.gate == net]
        if any(t.name in core and net in (t.gate, *t.ends) for t in netlist.transistors):
            return net
        joined = [set(t.ends) for t in met if t.kind is Kind.N], [set(t.ends) for t in met if t.kind is Kind.P]
        outs = sorted({end for n in joined[0] for p in joined[1] for end in n & p})
        if len(outs) != 1:
            return ""
        net = outs[0]
    return ""


def _pad_zone(specimen: Specimen, plan: DiePlan) -> Rect:
    """Return the die without the depth of what stands at its pads."""
    box = specimen.face.box
    edges = {bond.net: EDGES.index(bond.edge) for bond in plan.bonds}
    deep = dict.fromkeys(range(len(EDGES)), 0)
    for s in plan.recognition.all():
        edge = next((edges[port.net] for port in s.ports if port.net in edges), None)
        extent = extent_of(specimen, s.transistors) if s.term in ("output pad", "input protection") else None
        if edge is not None and extent is not None:
            x0, y0, x1, y1 = extent
            depth = (x1 - box.x0, box.x1 - x0, box.y1 - y0, y1 - box.y0)[edge]
            deep[edge] = max(deep[edge], depth)
    return Rect(box.x0 + deep[0], box.y0 + deep[3], box.x1 - deep[1], box.y1 - deep[2])


def _inside(specimen: Specimen, name: str, zone: Rect) -> bool:
    return all(zone.contains(*r.centre) for r in specimen.extraction.channel(name))


def _at(specimen: Specimen, bond: Bond) -> str:
    return f"at {specimen.face.unit.at(*bond.rect.centre)}"


def _met(specimen: Specimen, area: Area, net: str) -> int:
    """Return how many cells of a part have a transistor on a net."""
    on_it = {t.name for t in specimen.netlist.transistors if net in (t.gate, *t.ends)}
    return sum(bool(on_it & set(part.transistors)) for part in area.repeats)


def _gates_after(plan: DiePlan, net: str) -> str:
    """Say what a net leads to."""
    terms = [
        s.term
        for s in plan.recognition.structures
        if any(port.net == net and port.role is not Role.OUTPUT for port in s.ports)
    ]
    return _listed(terms) if terms else "nothing that has a name of its own"


def _listed(terms: list[str]) -> str:
    named = list(dict.fromkeys(terms))[:2]
    return " and ".join(f"{'an' if term[:1].lower() in 'aeio' else 'a'} {term}" for term in named)


def _reaches(plan: DiePlan, net: str, goal: set[str]) -> bool:
    """Tell whether a net leads by gates alone to one of some nets."""
    seen, edge = {net}, [net]
    while edge:
        here = edge.pop()
        for s in plan.recognition.structures:
            if _is_gate(s) and here in s.nets(Role.INPUT):
                new = [out for out in s.nets(Role.OUTPUT) if out not in seen]
                seen.update(new)
                edge += new
    return bool(seen & goal)


def _is_gate(s: Structure) -> bool:
    return s.term.startswith(GATES)
