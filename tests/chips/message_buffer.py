"""
The message buffer as a plain program, written from what it is meant to do and not from its gates.

How words move is that of the 40105 type of FIFO (function table of public data sheets): a stage loads when it is empty
and the one before it is full; input-ready low means full, output-ready high that a word is there.
"""

PINS = ("RES", "WR", "A0", "A1", "D0", "D1", "D2", "D3", "TK")
OUTPUTS = ("OV", "IR", "OR", *(f"Q{n}" for n in range(4)), *(f"C{n}" for n in range(4)))
PUSH, CONTROL, CLEAR, SEEN = range(4)
"""What the bus writes to, by its address."""
STAGES = 4
CLOCK, STROBE = "PH", "WR"


class MessageBuffer:
    """Four stages of a word or none, a control word, and the flag that a word was lost; None is not known."""

    def __init__(self):
        self.stages = [None] * STAGES
        self.there = [False] * STAGES
        self.control = None
        self.lost = False

    def rest(self, pins):
        """Take the pins while PH is 0."""
        at = pins["A0"] + 2 * pins["A1"] if pins["WR"] else None
        if pins["RES"] or at == CLEAR:
            self.there = [False] * STAGES
        if pins["RES"] or at == SEEN:
            self.lost = False
        return self.outputs()

    def work(self, pins):
        """Take the pins while PH is 1; the stages say only afterwards that they are full or empty."""
        at = pins["A0"] + 2 * pins["A1"] if pins["WR"] else None
        word = [pins[f"D{n}"] for n in range(4)]
        full = list(self.there)
        pushed = at == PUSH
        loads = [pushed and not full[0], *(full[n - 1] and not full[n] for n in range(1, STAGES))]
        for n in reversed(range(STAGES)):
            if loads[n]:
                self.stages[n] = word if n == 0 else self.stages[n - 1]
        if at == CONTROL:
            self.control = word
        if pushed and full[0]:
            self.lost = True
        shown = self.outputs()
        taken = [*loads[1:], bool(pins["TK"]) and full[-1]]
        self.there = [(full[n] or loads[n]) and not taken[n] and not pins["RES"] for n in range(STAGES)]
        return shown

    def outputs(self):
        """Return the level of each output pin, None where nobody can know it."""
        shown = {"OV": int(self.lost), "IR": int(not self.there[0]), "OR": int(self.there[-1])}
        for name, word in (("Q", self.stages[-1]), ("C", self.control)):
            shown |= {f"{name}{n}": None if word is None else word[n] for n in range(4)}
        return shown


def random_pins(rng):
    """Return pins for a step: mostly writes of words and takes, seldom resets."""
    at = rng.choices((PUSH, CONTROL, CLEAR, SEEN), (70, 15, 3, 12))[0]
    pins = {"RES": int(rng.random() < 0.02), "WR": int(rng.random() < 0.6), "A0": at & 1, "A1": at >> 1}
    return pins | {f"D{n}": rng.randint(0, 1) for n in range(4)} | {"TK": int(rng.random() < 0.3)}


class Board:
    """A bus and a host that know nothing of one another."""

    def __init__(self, rng):
        self.rng = rng
        self.steps = 0

    def pins(self, _):
        """Return the pins of the next step, a reset first."""
        self.steps += 1
        return random_pins(self.rng) | ({"RES": 1} if self.steps == 1 else {})
