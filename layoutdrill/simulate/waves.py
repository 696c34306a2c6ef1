"""Write a run as a table for the terminal, as CSV, or as a value change dump."""

from collections.abc import Iterator, Mapping

from layoutdrill import __version__
from layoutdrill.errors import plural
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.trace import Seen, Trace

MOST_LINES = 12
_FIRST, _CODES = 33, 94  # the printable characters that name a variable: ! to ~


def table_text(trace: Trace) -> str:
    """Return the steps as a table: what is driven, a line, what is watched; groups as numbers; remarks below."""
    left = _columns(trace, trace.stimulus.inputs)
    right = _columns(trace, tuple(net for net in trace.watched if net not in trace.stimulus.inputs))
    number = max(4, len(str(len(trace.rows) - 1)))
    wide = {title: max(len(title), 2, len(nets) if len(nets) > 1 else 0) for title, nets in (*left, *right)}
    head = "step".rjust(number)
    lines = [" ".join([head, *(t.rjust(wide[t]) for t, _ in left), "|", *(t.rjust(wide[t]) for t, _ in right)])]
    for at, row in enumerate(trace.rows):
        cells = [_told(row, nets).rjust(wide[title]) for title, nets in left]
        more = [_told(row, nets).rjust(wide[title]) for title, nets in right]
        lines.append(" ".join([str(at).rjust(number), *cells, "|", *more]))
    return "\n".join([*(line.rstrip() for line in lines), *_remarks(trace)]) + "\n"


def csv_text(trace: Trace) -> str:
    """Return the steps as CSV (RFC 4180): the step's number, then every net's level as in the table."""
    lines = [",".join(["step", *(_field(net) for net in trace.shown)])]
    lines += [",".join([str(at), *(row[net].sign for net in trace.shown)]) for at, row in enumerate(trace.rows)]
    return "\r\n".join(lines) + "\r\n"


def vcd_text(trace: Trace) -> str:
    """
    Return the run as a four-state value change dump (IEEE Std 1364-2001, clause 18).

    A fight is x, which four states cannot tell from what is not known: the inner scope `fights` has a wire of the same
    name for each net that ever fights, 1 while it does. A floating port is z; a floating inner net is the level that
    its charge holds, as a gate would see it. Each step begins at a multiple of its length.
    """
    identifiers = _identifiers()
    codes = dict(zip(trace.shown, identifiers, strict=False))
    fighting = [net for net in trace.shown if any(row[net].level is Level.FIGHT for row in trace.rows)]
    fights = dict(zip(fighting, identifiers, strict=False))
    ports = set(trace.netlist.ports)
    lines = [
        f"$version layoutdrill {__version__} $end",
        "$comment x: not known, or a fight where the wire of the same name in fights is 1; z: a port that floats $end",
        "$timescale 1 ns $end",
        f"$scope module {_word(trace.netlist.name) or 'circuit'} $end",
        *_variables(codes),
        *(["$scope module fights $end", *_variables(fights), "$upscope $end"] if fights else []),
        "$upscope $end",
        "$enddefinitions $end",
    ]
    last: dict[str, str] = {}
    for at, row in enumerate(trace.rows):
        now = {code: _four_state(row[net], net in ports) for net, code in codes.items()}
        now |= {code: str(int(row[net].level is Level.FIGHT)) for net, code in fights.items()}
        changes = [f"{level}{code}" for code, level in now.items() if last.get(code) != level]
        if not at:
            lines += ["#0", "$dumpvars", *changes, "$end"]
        elif changes:
            lines += [f"#{at * trace.stimulus.step_ns}", *changes]
        last = now
    lines.append(f"#{len(trace.rows) * trace.stimulus.step_ns}")
    return "\n".join(lines) + "\n"


def _columns(trace: Trace, nets: tuple[str, ...]) -> list[tuple[str, tuple[str, ...]]]:
    """Return (title, nets) of each column: groups whose nets are all there as one, in the place of their first net."""
    columns: dict[str, tuple[str, ...]] = {}
    grouped = {net: name for name, group in trace.stimulus.groups.items() if set(group) <= set(nets) for net in group}
    for net in nets:
        name = grouped.get(net, net)
        columns.setdefault(name, trace.stimulus.groups[name] if net in grouped else (net,))
    return list(columns.items())


def _told(row: Mapping[str, Seen], nets: tuple[str, ...]) -> str:
    seen = [row[net] for net in nets]
    if len(seen) == 1:
        return seen[0].sign
    if all(each.charge.known and each.level is not Level.FIGHT for each in seen):
        return str(int("".join(each.carried for each in seen), 2))
    return "".join(each.level.value if each.level is Level.FIGHT else each.carried for each in seen)


def _remarks(trace: Trace) -> list[str]:
    lines = []
    if any(seen.sign.endswith("~") for row in trace.rows for seen in row.values()):
        lines.append("~ held by charge alone")
    for what, where in (("fight on", trace.fights), ("does not come to rest:", trace.restless)):
        by_nets: dict[tuple[str, ...], list[int]] = {}
        for at, nets in where.items():
            by_nets.setdefault(nets, []).append(at)
        for nets, steps in list(by_nets.items())[:MOST_LINES]:
            shown = ", ".join(str(at) for at in steps[:MOST_LINES]) + (", …" if len(steps) > MOST_LINES else "")
            lines.append(f"{'step' if len(steps) == 1 else 'steps'} {shown}: {what} {_listed(nets)}")
    lines += [
        f"{failure.where}: step {failure.step}: {failure.net} is {failure.seen}, expected {failure.expected}"
        for failure in trace.failures[:MOST_LINES]
    ]
    if len(trace.failures) > MOST_LINES:
        lines.append(f"and {plural(len(trace.failures) - MOST_LINES, 'more difference')} from what is expected")
    elif trace.stimulus.expects and not trace.failures:
        lines.append(f"all as expected: {plural(sum(len(s.expected) for s in trace.stimulus.steps), 'level')}")
    return lines


def _listed(nets: tuple[str, ...]) -> str:
    return ", ".join(nets[:8]) + (f" and {len(nets) - 8} more" if len(nets) > 8 else "")


def _four_state(seen: Seen, is_port: bool) -> str:
    if seen.level is Level.FIGHT:
        return "x"
    if seen.level is Level.FLOATING and (is_port or not seen.charge.known):
        return "z" if is_port else "x"
    return seen.carried.lower()


def _variables(codes: Mapping[str, str]) -> Iterator[str]:
    return (f"$var wire 1 {code} {_word(net)} $end" for net, code in codes.items())


def _word(name: str) -> str:
    return "".join("_" if c.isspace() or c == "$" else c for c in name)


def _identifiers() -> Iterator[str]:
    number = 0
    while True:
        rest, code = number, ""
        while True:
            code += chr(_FIRST + rest % _CODES)
            rest = rest // _CODES - 1
            if rest < 0:
                break
        yield code
        number += 1


def _field(text: str) -> str:
    return '"' + text.replace('"', '""') + '"' if any(c in text for c in ',"\r\n') else text
