"""Join cells with what serves them: RAM with decoder, precharge and write drivers, ROM, register files, FIFOs."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.terms import family
from layoutdrill.recognise.view import View


def join_memories(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with memories put together."""
    result = structures
    for step in (_dynamic_arrays, _static_arrays, _roms, _register_files, _fifos):
        result = step(view, result)
    return result


def _columns(structures: list[Structure]) -> list[Structure]:
    return [s for s in structures if s.term == "column"]


def _lifted(parts: list[Structure]) -> list[Structure]:
    """Return the parts with those of columns in their place."""
    return [q for p in parts for q in (p.parts if p.term in ("column", "RAM array") else (p,))]


def _serving(near: Neighbours, lines: set[str], words: set[str]) -> list[Structure]:
    """Return what drives the word lines, and what reads the bit lines and nothing else."""
    serving = [d for n in sorted(words, key=near.view.place.__getitem__) if (d := near.driver(n)) is not None]
    serving = [d for d in serving if family(d.term) in ("decoder", "inverter", "buffer", "NOR", "NAND", "AND", "OR")]
    for n in sorted(lines, key=near.view.place.__getitem__):
        serving += [r for r in near.readers.get(n, ()) if r.term in ("inverter", "buffer")]
    return list(dict.fromkeys(serving))


def _static_arrays(view: View, structures: list[Structure]) -> list[Structure]:
    result = structures
    for array in [s for s in structures if s.term == "RAM array"]:
        near = Neighbours.of(view, result)
        lines, words = set(array.nets(Role.BIT_LINE)), set(array.nets(Role.WORD_LINE))
        columns = [c for c in _columns(result) if set(c.nets(Role.BIT_LINE)) & lines]
        serving = _serving(near, lines, words)
        if not columns and not any(family(s.term) == "decoder" for s in serving):
            continue
        parts = [array, *serving, *columns]
        parts += near.feeders(parts)
        count = len(words)
        width = len(array.parts) // count if count else 0
        term = f"{count} × {width} static RAM"
        words_of = f"{count} words of {width} bits"
        result = _joined(view, result, term, parts, words_of)
    return result


def _joined(view: View, structures: list[Structure], term: str, parts: list[Structure], words: str) -> list[Structure]:
    """Return the structures with a memory joined, its columns and arrays opened into what they are made of."""
    parts = list(dict.fromkeys(parts))
    whole = block(view, term, parts, words, also=("RAM array",) if "RAM" in term else ())
    whole = Structure(whole.term, whole.transistors, whole.ports, tuple(_lifted(parts)), words, (), whole.also)
    return replaced(structures, parts, whole)


def _dynamic_arrays(view: View, structures: list[Structure]) -> list[Structure]:
    columns = [c for c in _columns(structures) if any(p.term == "dynamic RAM cell" for p in c.parts)]
    if not columns:
        return structures
    cells = [p for c in columns for p in c.parts if p.term == "dynamic RAM cell"]
    near = Neighbours.of(view, structures)
    words = {n for c in cells for n in c.nets(Role.WORD_LINE)}
    lines = {n for c in cells for n in c.nets(Role.BIT_LINE)}
    parts = [*columns, *_serving(near, lines, words)]
    height = max(sum(p.term == "dynamic RAM cell" for p in c.parts) for c in columns)
    parts += near.feeders(parts)
    term = f"{height} × {len(columns)} dynamic RAM"
    return _joined(view, structures, term, parts, f"{height} words of {len(columns)} bits, kept as charge")


def _roms(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a decoder with the plane, or the gates, whose inputs are all its outputs."""
    result = structures
    for decoder in [s for s in structures if family(s.term) == "decoder" and len(s.nets(Role.OUTPUT)) >= 4]:
        near = Neighbours.of(view, result)
        columns = [n for part in decoder.parts if part.term == "decoder column" for n in part.nets(Role.OUTPUT)]
        unused = columns or list(decoder.nets(Role.OUTPUT))
        lines = set(unused)
        readers = dict.fromkeys(r for n in lines for r in near.readers.get(n, ()))
        kinds = ("ROM plane", "domino gate", "precharged gate", "NOR", "NAND", "inverter", "OR", "AND", "complex gate")
        gated = {n for k in view.links for n in k.controls}
        if any(view.root(n)[0] in {view.root(g)[0] for g in gated} for n in lines):
            continue
        bits = [r for r in readers if family(r.term) in kinds and set(r.nets(Role.INPUT, Role.WORD_LINE)) <= lines]
        if len(bits) != len(readers) or not bits or len(lines) < 4:
            continue
        outputs = [n for r in bits for n in r.nets(Role.OUTPUT)]
        if len(outputs) < 2 or all(r.term in ("inverter", "buffer") for r in bits):
            continue  # lines that are only driven on
        after = [
            r for n in outputs for r in near.readers.get(n, ())
            if r.term in ("inverter", "buffer") and n not in view.ports
        ]  # fmt: skip
        plane = next((r for r in bits if r.term == "ROM plane"), None)
        ports = [Port(n, Role.WORD_LINE) for n in sorted(lines, key=view.place.__getitem__)]
        ports += [Port(n, Role.OUTPUT) for n in outputs]
        ports += [p for r in bits for p in r.ports if p.role is Role.CLOCK]
        if plane is None or len(bits) > 1:
            names = tuple(sorted({n for r in bits for n in r.transistors}, key=view.order.__getitem__))
            inner = tuple(q for r in bits for q in (r.parts if r.term == "ROM plane" else (r,)))
            words = f"{len(lines)} lines across {len(outputs)}"
            words = f"{len(lines)} lines across {len(outputs)}"
            plane = Structure("ROM plane", names, tuple(dict.fromkeys(ports)), inner, words)
        parts = [decoder, plane, *after]
        count = len(unused) or len(lines)
        whole = block(view, f"{count} × {len(outputs)} ROM", parts, f"{count} words of {len(outputs)} bits",
                      also=("ROM plane", "decoder"))  # fmt: skip
        result = replaced(result, [decoder, *bits, *after], whole)
    return result


def _register_files(view: View, structures: list[Structure]) -> list[Structure]:
    """Join words of latches whose bits lead to shared buses, read by lines of their own."""
    rows = [
        s for s in structures if s.term == "register row" and all(p.term in ("latch", "memory bit") for p in s.parts)
    ]
    if len(rows) < 2 or len({len(s.parts) for s in rows}) > 1:
        return structures
    near = Neighbours.of(view, structures)
    made = {n for s in rows for n in s.nets(Role.OUTPUT)}
    buses = [
        s for s in structures if s.term in ("tri-state bus", "bus with keeper") and set(s.nets(Role.INPUT)) <= made
    ]
    lines = [set(s.nets(Role.DATA)) for s in rows]
    if len(buses) < len(rows[0].parts) or any(line != lines[0] for line in lines):
        return structures
    width = len(rows[0].parts)
    parts = [*rows, *buses, *near.feeders([*rows, *buses])]
    bits = [_memory_bit(view, latch, buses) for row in rows for latch in row.parts]
    rest = [p for p in parts if p.term not in ("register row", "tri-state bus", "bus with keeper")]
    whole = block(view, f"{len(rows)} × {width} register file", parts, f"{len(rows)} words of {width} bits")
    whole = Structure(whole.term, whole.transistors, whole.ports, (*bits, *rest), whole.function)
    return replaced(structures, parts, whole)


def _memory_bit(view: View, latch: Structure, buses: list[Structure]) -> Structure:
    """Return a latch with the stages by which it is read."""
    out = set(latch.nets(Role.OUTPUT))
    reads = [p for b in buses for p in b.parts if set(p.nets(Role.INPUT)) & out]
    return block(view, "memory bit", [latch, *reads], f"stores {', '.join(latch.nets(Role.DATA))}")


def _handed_on(slices: list[Structure], first: Structure) -> list[Structure]:
    """Return the slices as a word goes through them from the first; any that it does not reach come last."""
    row = [first]
    while after := [s for s in slices if s not in row and set(row[-1].nets(Role.OUTPUT)) & set(s.nets(Role.DATA))]:
        row.append(after[0])
    return [*row, *(s for s in slices if s not in row)]


def _fifos(view: View, structures: list[Structure]) -> list[Structure]:
    slices = [s for s in structures if s.term == "FIFO slice"]
    if len(slices) < 2:
        return structures
    given = {n for s in slices for n in s.nets(Role.OUTPUT)}
    first = [s for s in slices if not given & set(s.nets(Role.DATA))]
    if len(first) != 1:
        return structures
    near = Neighbours.of(view, structures)
    width = len(first[0].nets(Role.DATA))
    parts = [*_handed_on(slices, first[0]), *near.feeders(slices)]
    words = f"{len(slices)} words of {width} bits, each handed on as the next falls empty"
    return replaced(
        structures, parts, block(view, f"{len(slices)} × {width} FIFO", parts, words, also=("FIFO", "FIFO slice"))
    )
