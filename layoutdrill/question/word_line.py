"""What a plane holds at one word line: where a crossing has a transistor at work, and where it has none."""

from collections.abc import Mapping

from layoutdrill.netlist.stages import components
from layoutdrill.question.model import Specimen


def bits_of_line(
    specimen: Specimen, row: Mapping[str, int], bits: Mapping[str, str]
) -> tuple[str, tuple[str, ...]] | None:
    """
    Say for which bits the selected word line, the one whose level in `row` no other has, has a transistor at work, and
    what these and the others read; return the names of its transistors. `bits` are the levels read, by output.

    None where no line stands out, or where a transistor that is there or not does not decide all bits alike.
    """
    levels = list(row.values())
    chosen = [line for line, level in row.items() if levels.count(level) == 1]
    if len(levels) < 3 or len(chosen) != 1:
        return None
    process, devices = specimen.process, specimen.netlist.transistors
    own = {
        t.name: t
        for t in devices
        if t.gate == chosen[0] and not t.is_closed_by_implant(process.rails, process.supplies[1:])
    }
    at_work: set[str] = set()
    for column in components(devices, process.rails):
        if any(t.name in own for t in column):
            at_work |= {net for t in column for net in t.ends}
    having = [name for name in bits if name in at_work]
    lacking = [name for name in bits if name not in at_work]
    there, absent = ({bits[name] for name in names} for names in (having, lacking))
    if len(there) != 1 or len(absent) > 1 or there == absent:
        return None
    decides = f"The word line at X has a transistor at work for {', '.join(having)}, read as {there.pop()}"
    if lacking:
        decides += f"; for {', '.join(lacking)} it has none: {absent.pop()}"
    return f"{decides}.", tuple(own)
