"""The names of structures: one canonical term each, what else is accepted for it, and what it is mistaken for."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Term:
    """A structure's canonical term, other names accepted for it, and the transistors it usually takes (0: varies)."""

    name: str
    aliases: tuple[str, ...] = ()
    transistors: int = 0


_NAMED = (
    Term("inverter", ("NOT", "NOT gate", "inv"), 2),
    Term("buffer", ("two inverters", "non-inverting buffer", "buf"), 4),
    Term("transmission gate", ("TG", "pass gate", "bilateral switch", "analog switch", "analogue switch"), 2),
    Term("pass transistor", ("pass device", "single pass transistor"), 1),
    Term("tri-state inverter", ("clocked inverter", "three-state inverter", "tristate inverter"), 4),
    Term("2:1 multiplexer", ("mux", "mux2", "2:1 mux", "multiplexer", "2 to 1 multiplexer", "selector"), 6),
    Term("latch", ("D latch", "transparent latch", "D-type latch"), 8),
    Term("SR latch", ("set-reset latch", "RS latch", "S-R latch"), 8),
    Term("register bit", ("flip-flop", "D flip-flop", "DFF", "master-slave", "master-slave flip-flop"), 16),
    Term("static RAM cell", ("SRAM cell", "bit cell", "memory cell", "6T cell", "RAM cell"), 6),
    Term("half adder", (), 14),
    Term("full adder", ("adder", "adder bit"), 28),
    Term("majority gate", ("carry gate", "majority", "maj3"), 12),
    Term("Schmitt inverter", ("Schmitt trigger", "Schmitt trigger inverter"), 6),
    Term("level restorer", ("keeper",), 1),
    Term("super buffer", (), 4),
    Term("output driver", ("pad driver",), 0),
    Term("decoder column", ("decoder", "address decoder"), 0),
)


def _gates() -> tuple[Term, ...]:
    found = []
    for n in range(2, 9):
        found += [Term(f"NAND{n}", (), 2 * n), Term(f"NOR{n}", (), 2 * n)]
        found += [Term(f"AND{n}", (), 2 * n + 2), Term(f"OR{n}", (), 2 * n + 2)]
    for n in (2, 3):
        found += [
            Term(f"XOR{n}", (f"exclusive or {n}", *(("XOR", "exclusive or", "EXOR") if n == 2 else ())), 12),
            Term(
                f"XNOR{n}",
                (f"exclusive nor {n}", *(("XNOR", "exclusive nor", "equivalence gate") if n == 2 else ())),
                12,
            ),
        ]
    for digits in ("21", "22", "31", "32", "33", "211", "221", "222", "311", "2111", "41", "2211"):
        size = 2 * sum(int(d) for d in digits)
        found += [
            Term(f"AOI{digits}", (f"and-or-invert {digits}", f"and or invert gate {digits}"), size),
            Term(f"OAI{digits}", (f"or-and-invert {digits}", f"or and invert gate {digits}"), size),
        ]
    return tuple(found)


TERMS: tuple[Term, ...] = (*_NAMED, *_gates())
