"""
What further own netlists do, step by step, said in plain Python: those that work by phases, by charge, or by lines.

A step is what changes at the inputs and what is then expected; see `board`. Ring and relaxation oscillators, a reset by
the supply's rise and a charge pump have no function of their inputs, and are left out; so is a pipeline that starts in
no known state, and registers whose stores share their charge in the switch-level model.
"""

import random

from .board import bits

DATA = (1, 0, 1, 1, 0, 0, 1, 0, 0, 1, 1, 1)


def words(count, width, seed):
    rng = random.Random(seed)
    return [rng.randrange(1 << width) for _ in range(count)]


def late(values, delay, at):
    """Return what a register puts out after so many values: the one that came `delay` values before, if any."""
    return {"q": values[at - delay]} if at >= delay else {}


def phases(names, rest, on):
    """Yield steps in which each phase is on in turn."""
    for name in names:
        yield {name: on}
        yield {name: rest}


def four_phase():
    """Charged to 0 by f1, let go to the rest level by d in f2; the second half the same in f3 and f4."""
    steps = []
    for at, value in enumerate(DATA):
        steps.append(({"d": value, "f1": 1, "f2": 1, "f3": 1, "f4": 1}, {}))
        changes = list(phases(("f1", "f2", "f3", "f4"), 1, 0))
        steps += [(change, {}) for change in changes[:-1]]
        steps.append((changes[-1], late(DATA, 1, at)))
    return steps


def clocked_gates(*, pmos):
    """While the load is on: an inverter, and a NOR (NMOS) or a NAND (PMOS, with 1 on the high rail)."""
    on, steps = (0, []) if pmos else (1, [])
    for v in range(4):
        a, b = v & 1, v >> 1
        y = 1 - (a & b) if pmos else 1 - (a | b)
        steps += [({"a": a, "b": b, "ph": on}, {"x": 1 - a, "y": y})]
    return steps


def crossbar():
    """One select at a time: y takes the input so many places before."""
    steps = []
    for word in words(4, 4, 1):
        for k in range(4):
            ins = bits(word, "d", 4) | {f"k{j}": 0 for j in range(4)}
            steps += [(ins, {}), ({f"k{k}": 1}, {f"y{i}": word >> (i - k) % 4 & 1 for i in range(4)})]
    return steps


def dynamic_latches():
    """Two bits on each phase: while it is 1 the output is the inverse, after it that is held."""
    steps = []
    for word in words(5, 4, 2):
        ins = bits(word, "d", 4)
        seen = {f"y{i}": 1 - (word >> i & 1) for i in range(4)}
        first = {n: v for n, v in seen.items() if n in ("y0", "y2")}
        steps += [(ins | {"f1": 1, "f2": 0}, first), ({"f1": 0, "f2": 1}, seen), ({"f2": 0}, seen)]
        steps += [({f"d{i}": 1 - (word >> i & 1) for i in range(4)}, seen)]
    return steps


def super_buffer():
    """The inverse of what f1 took in."""
    steps = []
    for value in DATA[:6]:
        steps += [({"d": value, "f1": 1}, {"y": 1 - value}), ({"f1": 0}, {}), ({"d": 1 - value}, {"y": 1 - value})]
    return steps


def bootstrap():
    """The output follows the input, twice inverted: high while a is 1."""
    return [({"a": value}, {"y": value}) for value in (0, 1, 0, 1, 1, 0)]


def pad_both_ways():
    """Driven while enabled, and read either way."""
    return [({"e": 1, "d": value}, {"pad": value, "q": value}) for value in (0, 1, 0)]


def pad_open_drain():
    """Pulled low by a 1, else let go."""
    return [({"d": 1}, {"pad": "0"}), ({"d": 0}, {"pad": "Z"}), ({"d": 1}, {"pad": "0"})]


def pad_open_drain_nmos():
    """Pulled low while neither input is 1, else let go."""
    return [({"d": v & 1, "e": v >> 1}, {"pad": "Z" if v else "0"}) for v in (0, 1, 2, 3, 0)]


def clocked_cmos():
    """Three bits that take at the rise of f what stood before it."""
    steps, line = [], []
    for value in DATA:
        line.insert(0, value)
        seen = {f"q{i}": v for i, v in enumerate(line[:3])}
        steps += [({"d": value, "f": 0, "fn": 1}, {}), ({"f": 1, "fn": 0}, seen), ({"d": 1 - value}, seen)]
    return steps


def equal_eight():
    """Low where the words are equal and g is 0."""
    rng, steps = random.Random(6), []
    for n in range(12):
        p, g = rng.randrange(256), int(n % 4 == 3)
        q = p if n % 2 else p ^ 1 << n % 8
        steps.append((bits(p, "p", 8) | bits(q, "q", 8) | {"g": g}, {"y": int(not (p == q and not g))}))
    return steps


def domino_carry():
    """The carries of four bits, from generate and propagate, after f has risen; all low before."""
    rng, steps = random.Random(7), []
    for _ in range(10):
        g, p, c = rng.randrange(16), rng.randrange(16), rng.randint(0, 1)
        seen, carry = {}, c
        for i in range(4):
            carry = g >> i & 1 | p >> i & carry & 1
            seen[f"c{i + 1}"] = carry
        low = bits(0, "g", 4) | bits(0, "p", 4)
        steps += [
            ({"f": 0, "c0": 0} | low, dict.fromkeys(seen, 0)),
            (bits(g, "g", 4) | bits(p, "p", 4) | {"c0": c}, {}),
        ]
        steps.append(({"f": 1}, seen))
    return steps


def domino_decoder():
    """One line of four high after f has risen."""
    steps = []
    for v in (0, 1, 2, 3, 1):
        lines = {f"y{i}": int(i == v) for i in range(4)}
        steps += [({"f": 0, "a": v & 1, "b": v >> 1}, dict.fromkeys(lines, 0)), ({"f": 1}, lines)]
    return steps


def manchester():
    """The sum, with the inverse of the carry in on the line, after the line was charged."""
    rng, steps = random.Random(8), []
    for _ in range(8):
        a, b, c = rng.randrange(16), rng.randrange(16), rng.randint(0, 1)
        total = a + b + c
        steps.append((bits(a, "a", 4) | bits(b, "b", 4) | {"cn0": 1, "ck": 1}, {}))
        steps.append(({"ck": 0, "cn0": 1 - c}, bits(total, "s", 4) | {"c4": total >> 4}))
    return steps


def ram_resistors():
    """Words written over the lines and found again on the cells; the lines are left between."""
    rng, steps, content = random.Random(9), [], {}
    idle = {f"w{w}": 0 for w in range(4)}
    for at in (0, 1, 2, 3, 1, 2):
        value = rng.randrange(4)
        content[at] = value
        lines = bits(value, "b", 2) | {f"e{c}": 1 - (value >> c & 1) for c in range(2)}
        steps += [(idle | lines, {}), ({f"w{at}": 1}, {}), ({f"w{at}": 0}, {})]
        steps.append((bits(0, "b", 2), {f"q{w}{c}": v >> c & 1 for w, v in content.items() for c in range(2)}))
    return steps


def ram_3t():
    """A cell that holds a 0 (PMOS: on) lets its read line, charged low, go high; a 1 leaves it low."""
    rng, steps, content = random.Random(10), [], {}
    idle = {f"w{x}{k}": 1 for x in "wr" for k in range(4)}
    for at in (0, 1, 2, 3, 1, 2):
        value = rng.randrange(16)
        content[at] = value
        steps += [(idle | {"pre": 1} | bits(value, "wb", 4), {}), ({f"ww{at}": 0}, {}), ({f"ww{at}": 1}, {})]
        for read, kept in content.items():
            seen = {f"rb{j}": 1 - (kept >> j & 1) for j in range(4)}
            steps += [({"pre": 0}, {}), ({"pre": 1}, {}), ({f"wr{read}": 0}, seen), ({f"wr{read}": 1}, {})]
    return steps


def feedback_nmos():
    """Set to ones, then x^3 + x^2 + 1: seven states before the first comes again."""
    steps, state = [], (0, 0, 0)

    def cycle(seen):
        return [({"f1": 1}, {}), ({"f1": 0}, {}), ({"f2": 1}, {}), ({"f2": 0}, seen)]

    steps.append(({"f1": 0, "f2": 0, "set": 1}, {}))
    for _ in range(3):
        steps += cycle({})
    state = (1, 1, 1)
    steps.append(({"set": 0}, {f"q{i}": v for i, v in enumerate(state)}))
    for _ in range(9):
        state = (state[1] ^ state[2], *state[:2])
        steps += cycle({f"q{i}": v for i, v in enumerate(state)})
    return steps


RUNS = {
    "four_phase_rails": four_phase,
    "clocked_gates_pmos": lambda: clocked_gates(pmos=True), "clocked_gates_enmos": lambda: clocked_gates(pmos=False),
    "crossbar": crossbar, "dynamic_latches": dynamic_latches, "super_buffer": super_buffer, "bootstrap": bootstrap,
    "pad_both_ways": pad_both_ways, "pad_open_drain": pad_open_drain, "pad_open_drain_nmos": pad_open_drain_nmos,
    "clocked_cmos": clocked_cmos, "equal_eight": equal_eight, "domino_carry": domino_carry,
    "domino_decoder": domino_decoder, "manchester": manchester, "ram_resistors": ram_resistors,
    "ram_3t": ram_3t, "feedback_nmos": feedback_nmos,
}  # fmt: skip
"""By the name of the case."""
