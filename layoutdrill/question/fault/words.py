"""Say what a defect is, what levels it gives, and why another does not fit."""

from collections.abc import Mapping, Sequence

from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.prove.faults import Defect, DefectKind
from layoutdrill.question.circuit import Pins, row_text, why
from layoutdrill.question.fault.trying import Tried
from layoutdrill.question.model import Specimen

SAID = {
    DefectKind.OPEN: "the metal is broken: its two ends face one another across a gap",
    DefectKind.CONTACT: "there is no contact: metal passes over, and nothing joins it to what lies below",
    DefectKind.BRIDGE: "metal lies between two wires and joins them",
    DefectKind.WINDOW: "the gate window is missing: thick oxide lies there, and the metal above opens no channel",
    DefectKind.SPIKE: "aluminium has spiked through the junction below the contact and touches what lies under it",
    DefectKind.PINHOLE: "the gate oxide has a pinhole: the gate touches the source or drain that it overlaps",
    DefectKind.CORROSION: "the metal is eaten away",
}
_LEVELS = {
    "0": "0",
    "1": "1",
    "Z": "floats",
    "X": "cannot be known, as a gate floats",
    "!": "lies between, as two ways fight",
}
WOULD = {
    "0": "be 0",
    "1": "be 1",
    "Z": "float",
    "X": "hang on a gate that floats",
    "!": "lie between two ways that fight",
}


def turned(column: str) -> str:
    return column.translate(str.maketrans("01", "10"))


def tied(pins: Pins) -> tuple[str, ...]:
    levels = "1 is the high rail's level, 0 the low one's; z floats, x is a fight, ? cannot be known."
    return (levels, *(f"Input {a} gets the opposite of {b}." for a, b in pins.opposite.items()))


def column_text(column: str, _: str, rows: Sequence[Mapping[str, int]], output: str) -> str:
    """Write a column of levels with its rows, such as “y = 1 1 z 0 for a b = 00 01 10 11”."""
    names = " ".join(rows[0])
    heads = " ".join("".join(str(bit) for bit in row.values()) for row in rows)
    levels = " ".join({"Z": "z", "X": "?", "!": "x"}.get(level, level) for level in column)
    return f"{output} = {levels} for {names} = {heads}"


def symptom_text(column: str, sound: str, rows: Sequence[Mapping[str, int]], output: str) -> str:
    """Say in words how a column differs from the sound one."""
    if len(set(column)) == 1:
        level = column[0]
        return f"{output} stays at {level}" if level in "01" else f"{output} always {_LEVELS[level]}"
    wrong = [(row, level) for row, level, right in zip(rows, column, sound, strict=True) if level != right]
    if not wrong:
        return f"{output} is as it should be"
    if len(wrong) == len(rows):
        return f"{output} is the opposite of what it should be"
    parts = [f"with {row_text(row)} it {'is ' if level in '01' else ''}{_LEVELS[level]}" for row, level in wrong]
    return f"{output} is wrong only so: " + "; ".join(parts)


def levels_were(column: str, right: str, rows: Sequence[Mapping[str, int]], output: str) -> str:
    """Say in which rows the output would have another level, and which it has there."""
    odd = [each for each in zip(rows, column, right, strict=True) if each[1] != each[2]]
    levels: dict[str, list[str]] = {}
    for row, level, _ in odd:
        levels.setdefault(level, []).append(row_text(row))
    would = ", and ".join(f"{WOULD[level]} with {' and '.join(where)}" for level, where in levels.items())
    has = dict.fromkeys(f"is {level}" if level in "01" else _LEVELS[level] for _, _, level in odd)
    return f"Were it so, {output} would {would}; there, on this die, it {' or '.join(has)}."


def why_not_fitting(gives: Mapping[str, str], fitting: Sequence[str], seen: str) -> dict[str, str]:
    """Say why each wrong choice does not fit what was measured: what the defect at each letter `gives`."""
    would = {
        f"the one at {letter}": f"Were it the one at {letter}, one would measure {column}; measured was {seen}."
        for letter, column in gives.items()
        if letter not in fitting
    }
    of = "those of neither are" if not fitting else f"only those of the one at {fitting[0]} are"
    would["either"] = f"Were it either, both would give what was measured, {seen}; {of}."
    if fitting:
        only = f"the one at {fitting[0]} gives just that"
        would["neither"] = f"Were it neither, nothing at P or Q would give what was measured, {seen}; {only}."
    return would


def touching(sound: Specimen, defect: Defect, pins: Pins, letter: str) -> tuple[str, tuple[str, ...]]:
    """
    Say what a pinhole joins, and which of the two gives the level; and return the transistors that it speaks of. Both
    are empty of any other defect.
    """
    if defect.kind is not DefectKind.PINHOLE:
        return "", ()
    metal = sound.face.metal
    here = sound.extraction.nets_at(*defect.place.centre)
    gate = next((net for name, net in here if name in metal), "")
    end = next((net for name, net in here if name not in metal and net != gate), "")
    if not gate or not end:
        return "", ()
    numbers = dict(devices_overlay(sound.extraction, sound.netlist).transistors)
    ended = tuple(t.name for t in sound.netlist.transistors if end in t.ends)
    known = end in (*pins.inputs, *pins.outputs) or end in sound.process.rail_levels
    joined = " and ".join(sorted((numbers.get(name, "") for name in ended), key=lambda n: (len(n), n)))
    what = end if known else f"the end that transistors {joined} share" if len(ended) > 1 else "the end beside it"
    held = next((net for net in (gate, end) if net in pins.inputs), "")
    wins = (
        f"what drives {held} from outside is stronger than any transistor here, so the level is that of {held}"
        if held
        else "the level is that of the rail to which transistors that conduct lead it"
    )
    return f"At {letter} gate {gate} touches {what}, and the two are one net; {wins}.", ended


def decides_of(
    faulty: Specimen, pins: Pins, tried: Tried, sound: str, rows: Sequence[Mapping[str, int]]
) -> tuple[str, tuple[str, ...]]:
    """Say what the defect is and by which transistors the first level that is wrong comes about."""
    said = f"At X {SAID[tried.defect.kind]}."
    for row, level, right in zip(rows, tried.column, sound, strict=True):
        if level == right or pins.outputs[0] not in faulty.netlist.nets:
            continue
        if level == "X":
            return f"{said} With {row_text(row)} the level hangs on a gate that nothing drives.", ()
        reason, names = why(faulty, row, pins.opposite, pins.outputs[0])
        return f"{said} {reason}", names
    return said, ()


def upper(text: str) -> str:
    return text[:1].upper() + text[1:]
