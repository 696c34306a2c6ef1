"""Tell priority encoders by their tables."""

from collections.abc import Sequence
from itertools import combinations, product

from layoutdrill.recognise.blocks.arithmetic import Name


def encoder(inputs: Sequence[str], tables: dict[str, int]) -> Name:
    """Name the code of the highest of several inputs that is on; inputs and outputs may be active low."""
    place = {n: len(inputs) - 1 - i for i, n in enumerate(inputs)}
    for enable in (None, *inputs):
        lines = [n for n in inputs if n != enable]
        size = len(lines)
        if size not in (4, 8, 10, 16):
            continue
        width = (size - 1).bit_length()
        for low in (0, 1):
            for gate in (0, 1) if enable is not None else (0,):
                base = sum(low << place[n] for n in lines) | (gate << place[enable] if enable is not None else 0)
                if len(tables) >= width and _priority([place[n] for n in lines], base, list(tables.values())):
                    words = f"the number of the highest of {size} lines that is on"
                    return f"{size}-to-{width} priority encoder", words
    return None


def _priority(lines: Sequence[int], base: int, tables: Sequence[int]) -> bool:
    """Tell whether outputs say which of the lines that are on comes first; `base` is the row in which none is."""

    def code(*on: int) -> tuple[int, ...]:
        row = base
        for line in on:
            row ^= 1 << line
        return tuple(t >> row & 1 for t in tables)

    single = {line: code(line) for line in lines}
    if len(set(single.values())) < len(lines):
        return False
    wins = dict.fromkeys(lines, 0)
    for a, b in combinations(lines, 2):
        both = code(a, b)
        if both == single[a]:
            wins[a] += 1
        elif both == single[b]:
            wins[b] += 1
        else:
            return False
    if sorted(wins.values()) != list(range(len(lines))):
        return False
    for values in product((0, 1), repeat=min(len(lines), 10)):
        on = [line for line, value in zip(lines, values, strict=False) if value]
        if on and code(*on) != single[max(on, key=wins.__getitem__)]:
            return False
    return True
