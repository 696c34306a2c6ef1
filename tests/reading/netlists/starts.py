"""
What the last own netlists do, in plain Python: those that start in no known state, and oscillators.

A state is given by forcing nets for a step and letting them go (`None`). An oscillator is opened so: one net of its
loop is held, and what comes round to it is the opposite, so that it can rest nowhere. Of a ratioless
register only the first stage is told, since its charge is shared with the next in the switch-level model.
"""

import random

from .board import bits

DATA = (1, 0, 1, 1, 0, 0, 1, 0, 0, 1, 1, 1)


def clock(changes, seen, clock_net="c"):
    """Return the steps of one clock: inputs while it is low, then what is seen after its rise."""
    return [({clock_net: 0, **changes}, {}), ({clock_net: 1}, seen)]


def ring():
    """Zeros are shifted in; then a one runs round, let in where the first three are 0."""
    steps = [step for _ in range(4) for step in clock({"d0": 0}, {})]
    line = [0] * 4
    for at in range(10):
        line = [int(not any(line[:3])), *line[:3]]
        steps += clock({"d0": None} if at == 0 else {}, {f"q{i}": v for i, v in enumerate(line)})
    return steps


def clocked_loads():
    """While f1 loads the last half, it shows what was taken four clocks before."""
    steps = []
    for at, value in enumerate(DATA):
        steps += [({"d": value, "f1": 1, "f2": 1}, {})]
        steps += [
            ({"f1": 0}, {"q": DATA[at - 4]} if at >= 4 else {}),
            ({"f1": 1}, {}),
            ({"f2": 0}, {}),
            ({"f2": 1}, {}),
        ]
    return steps


def ratioless():
    """The first stage keeps the inverse of what f1 took in."""
    steps = []
    for value in DATA[:6]:
        steps += [({"d": value, "f1": 0, "f2": 1}, {}), ({"f1": 1}, {"x0f1": 1 - value})]
    return steps


def four_phase():
    """Charged to 0 by f1, let go to its high level by the data in f2; the second half so in f3 and f4."""
    steps = []
    for at, value in enumerate(DATA):
        steps += [({"d": value, "f1": 0, "f2": 0, "f3": 1, "f4": 1}, {}), ({"f1": 1}, {}), ({"f2": 1}, {})]
        steps += [({"f3": 0, "f4": 0}, {}), ({"f3": 1}, {})]
        steps += [({"f4": 1}, {"q": DATA[at - 3]} if at >= 3 else {})]
    return steps


def fifo():
    """
    Empty at first; each load is given, since it makes and ends itself in no time: it takes the word, and the marker.

    A load sets the marker of its stage as it ends, and clears that of the stage before as it comes.
    """
    empty = {f"v{i}": 0 for i in range(3)}
    steps = [({**empty, "si": 0, "so": 0, "ld0": 0, "ld1": 0, "ld2": 0}, {}), (dict.fromkeys(empty), dict(empty))]
    kept, marks = [0, 0, 0], [0, 0, 0]
    for stage, word in ((0, 2), (1, None), (2, None), (0, 1), (1, None), (0, 3)):
        kept[stage] = word if stage == 0 else kept[stage - 1]
        marks[stage] = 1
        if stage:
            marks[stage - 1] = 0
        data = bits(word, "d", 2) if stage == 0 else {}
        seen = {**bits(kept[stage], f"x{stage}", 2), **{f"v{i}": v for i, v in enumerate(marks)}}
        steps += [({**data, f"ld{stage}": 1}, {}), ({f"ld{stage}": 0}, seen)]
    return [*steps, ({"so": 1}, {"v2": 0}), ({"so": 0}, {"v2": 0, **bits(2, "x2", 2)})]


def rests(held, given, *follow):
    """A Schmitt inverter at rest at either level of its input; `follow` are nets, and whether they equal the input."""

    def steps():
        made = []
        for v in (0, 1):
            made += [({held: v, given: 1 - v}, {}), ({given: None}, {n: v if equal else 1 - v for n, equal in follow})]
        return made

    return steps


def opened(held, round_to, same, *more):
    """A loop held at one net: another follows it, equal or opposite; `more` gives other nets, and whether equal."""

    def steps():
        nets = ((round_to, same), *more)
        return [({held: v}, {n: v if equal else 1 - v for n, equal in nets}) for v in (0, 1, 0)]

    return steps


def ring_gated():
    """Let run, it comes round inverted; held by e it rests."""
    rest = [({"e": 0}, {"x0": 1, "x4": 1, "y": 1})]
    return [*rest, *(({"e": 1, "x0": v}, {"x4": v, "y": v}) for v in (0, 1))]


def starved_ring():
    """With current let in, and the level given that the bias stage makes, the loop of five comes round inverted."""
    return [({"v": 1, "m": 0, "y": v}, {"x3": v, "q": v}) for v in (0, 1, 0)]


def pump():
    """Its two lines swing against one another."""
    return [({"f": v}, {"fp": v, "fq": 1 - v}) for v in (0, 1, 0)]


def pipeline():
    """Each stage takes the level of the one before where the one behind differs (Muller 1959)."""

    def settled(state, first, last):
        line = [first, *state, last]
        for _ in range(8):
            for i in (1, 2, 3):
                a, b = line[i - 1], 1 - line[i + 1]
                line[i] = a if a == b else line[i]
        return line[1:4]

    steps = [({"r0": 0, "ack": 0, "n1": 1, "n2": 1, "n3": 1}, {}), ({"n1": None, "n2": None, "n3": None}, {})]
    state = [0, 0, 0]
    for net, value in (("r0", 1), ("r0", 0), ("ack", 1), ("r0", 1), ("ack", 0), ("r0", 0), ("ack", 1)):
        inputs = {n: v for step, _ in steps for n, v in step.items() if n in ("r0", "ack")} | {net: value}
        state = settled(state, inputs["r0"], inputs["ack"])
        steps.append(({net: value}, {f"r{i + 1}": v for i, v in enumerate(state)}))
    return steps


def ram_1t():
    """Each cell keeps what its line had while its word was open."""
    rest = {"sense": 0, "sensen": 1, "eqn": 1, **{f"w{i}": 0 for i in range(4)}}
    kept, steps = {}, [(rest, {})]
    dice = random.Random(7)
    for word in (0, 1, 2, 3, 1, 0):
        value = {n: dice.randint(0, 1) for n in ("b0", "e0", "b1", "e1")}
        lines = ("b0", "b1") if word < 2 else ("e0", "e1")
        kept |= {f"s{word}{j}": value[line] for j, line in enumerate(lines)}
        steps += [(value, {}), ({f"w{word}": 1}, {}), ({f"w{word}": 0}, dict(kept))]
    return steps


def s27():
    """Its gates as published (Brglez, Bryan and Kozminski 1989), from the state of three zeros."""
    steps = clock({"g0": 0, "g1": 0, "g2": 0, "g3": 0, "g10": 0, "g11": 0, "g13": 0}, {}, "ck")
    dice, (g5, g6, g7) = random.Random(5), (0, 0, 0)
    for at in range(12):
        g0, g1, g2, g3 = (dice.randint(0, 1) for _ in range(4))
        g8, g12 = (1 - g0) & g6, 1 - (g1 | g7)
        g9 = 1 - ((g3 | g8) & (g12 | g8))
        g11 = 1 - (g5 | g9)
        free = {"g10": None, "g11": None, "g13": None} if at == 0 else {}
        steps.append(({"ck": 0, **free, "g0": g0, "g1": g1, "g2": g2, "g3": g3}, {"g17": 1 - g11}))
        steps.append(({"ck": 1}, {}))
        g5, g6, g7 = 1 - ((1 - g0) | g11), g11, 1 - (g2 | g12)
    return steps


def phase_detector():
    """
    A falling edge of one lowers its output, and nothing of the same raises it.

    That the other's edge raises both is a race in which each gate takes its time; the switch-level model has no times.
    """
    steps = []
    for net, mine, other in (("r", "up", "dn"), ("v", "dn", "up")):
        steps += [({"r": 1, "v": 1, "z": 0}, {}), ({"z": None}, {"up": 1, "dn": 1})]
        steps += [({net: v}, {mine: 0, other: 1}) for v in (0, 1, 0, 1)]
    return steps


def n_p_pipeline():
    """While f is 1: a NOR of products, then what p transistors make of it, inverted; q keeps it after."""
    steps = []
    for row in range(16):
        a, b, c, d = (row >> i & 1 for i in range(4))
        x = 1 - (a & b | c)
        y = (1 - x) | (1 - d)
        steps += [({"f": 0, "a": a, "b": b, "c": c, "d": d}, {"x": 1, "y": 0})]
        steps += [({"f": 1}, {"x": x, "y": y, "q": 1 - y}), ({"f": 0}, {"q": 1 - y})]
    return steps


def match_word():
    """The charged line stays up only where the word sought is the one kept."""
    quiet = {f"{x}{i}": 0 for i in range(4) for x in ("sl", "sn")}
    steps, dice = [], random.Random(9)
    for _ in range(3):
        kept = dice.randrange(16)
        lines = {**bits(kept, "bl", 4), **bits(kept ^ 15, "bn", 4)}
        steps += [({**quiet, **lines, "word": 1, "pre": 1}, {}), ({"word": 0}, {})]
        for sought in (kept, kept ^ 1 << dice.randrange(4), dice.randrange(16)):
            steps += [({**quiet, "pre": 0}, {"match": 1}), ({"pre": 1}, {})]
            steps += [({**bits(sought, "sl", 4), **bits(sought ^ 15, "sn", 4)}, {"match": int(sought == kept)})]
    return steps


def file_two_read():
    """Words written one by one, then two of them read at once."""
    off = {f"{x}{r}": 0 for r in range(4) for x in ("w", "ra", "rb")}
    dice = random.Random(2)
    words = [dice.randrange(4) for _ in range(4)]
    steps = [({**off, "pre": 0}, {})]
    for r, word in enumerate(words):
        steps += [({**bits(word, "bl", 2), **bits(word ^ 3, "bn", 2)}, {}), ({f"w{r}": 1}, {}), ({f"w{r}": 0}, {})]
    for first, second in ((0, 1), (2, 3), (1, 1), (3, 0)):
        steps += [({**off, "pre": 0}, {}), ({"pre": 1}, {})]
        seen = {**bits(words[first], "A", 2), **bits(words[second], "B", 2)}
        steps += [({f"ra{first}": 1, f"rb{second}": 1}, seen)]
    return steps


def pmos_shift():
    """Open while a phase is 0; three bits."""
    steps = []
    for at, value in enumerate(DATA):
        steps += [({"d": value, "f1": 1, "f2": 1}, {}), ({"f1": 0}, {}), ({"f1": 1}, {}), ({"f2": 0}, {})]
        steps += [({"f2": 1}, {"q2": DATA[at - 2]} if at >= 2 else {})]
    return steps


def clocked_sense():
    """At the rise of c the side with the input that is high is seen; it stays while c is low."""
    steps = []
    for value in (1, 0, 0, 1, 0, 1):
        steps += [
            ({"c": 0, "ip": value, "im": 1 - value}, {"yp": 1, "ym": 1}),
            ({"c": 1}, {"q": value, "qn": 1 - value}),
        ]
        steps += [({"c": 0}, {"q": value, "qn": 1 - value})]
    return steps


def dynamic_pla():
    """Both planes charged, the first let go by f, the second after it by f2."""
    steps = []
    for row in range(8):
        a, b, c = (row >> i & 1 for i in range(3))
        p0, p1, p2, p3 = a & b, (1 - a) & (1 - c), (1 - b) & c, a & (1 - c)
        steps += [({"f": 0, "f2": 0, "a": a, "b": b, "c": c}, {}), ({"f": 1}, {"p0": p0, "p1": p1, "p2": p2, "p3": p3})]
        steps += [({"f2": 1}, {"y": 1 - (p0 | p2), "z": 1 - (p1 | p3 | p0)})]
    return steps


STARTS = {
    "ring": ring, "clocked_loads": clocked_loads, "ratioless": ratioless, "four_phase": four_phase, "fifo": fifo,
    "ring_5": opened("x0", "x4", True, ("y", False)), "ring_7": opened("x0", "x6", True, ("y", False)),
    "ring_gated": ring_gated, "rc": opened("a", "k", False, ("y", True)),
    "crystal": opened("xin", "xout", False, ("y", False)), "rc_schmitt": rests("x", "y", ("y", False), ("clk", True)),
    "power_on": rests("a", "y", ("y", False), ("rn", True)),
    "power_on_paper": rests("t", "y", ("y", False), ("rn", True)),
    "starved_ring": starved_ring, "charge_pump": pump, "pipeline": pipeline, "ram_1t": ram_1t, "s27": s27,
    "phase_detector": phase_detector, "n_p_pipeline": n_p_pipeline, "match_word": match_word,
    "file_two_read": file_two_read, "pmos_shift": pmos_shift, "clocked_sense": clocked_sense,
    "edge_detector": lambda: [({"a": v}, {"y": 0}) for v in (0, 1, 0)], "dynamic_pla": dynamic_pla,
}  # fmt: skip
"""By the name of the case; at an edge detector only its rest is told, for its pulse is a delay."""
