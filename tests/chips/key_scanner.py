"""
The key-matrix scanner as a plain program, and a matrix of keys that bounce, written from what they are meant to do.

Debouncing by as many equal looks in a row, up as well as down, is common practice.
"""

PINS = ("K0", "K1", "K2", "K3", "SH", "TK", "RES")
OUTPUTS = ("S0", "S1", "S2", "S3", "DA", "DN", *(f"Q{n}" for n in range(5)))
CLOCK, STROBE = "CK", None
LOOKS = 3
SHIFTED = (2, 3)
"""The columns whose keys mean something else with the shift key."""


class KeyScanner:
    """The row that is pulled low, the last looks, whether a key counts as down, the code and whether one is there."""

    def __init__(self):
        self.row = None
        self.looks = [None] * LOOKS
        self.down = None
        self.code = None
        self.there = None
        self.taking_in = False
        self.reset = 0

    def rest(self, pins):
        """Take the pins while CK is 0."""
        self._settle(pins)
        return self.outputs()

    def work(self, pins):
        """Take the rise of CK, and then its fall: a key that counts anew leaves its code only at the fall."""
        self.taking_in = False
        if pins["TK"]:
            self.there = False
        low = [n for n in range(4) if not pins[f"K{n}"]]
        if not pins["RES"]:
            if not low and not any(self.looks[:2]):
                self.row = (self.row + 1) % 4
            self.down = all(self.looks) or (self.down and any(self.looks))
        self.looks = [len(low) == 1, *self.looks[:-1]]
        shown = self.outputs()
        self._settle(pins)
        return shown

    def _settle(self, pins):
        """See what the pins do as long as CK is 0: a reset clears all but the looks and the code."""
        self.reset = pins["RES"]
        if self.reset:
            self.row, self.down, self.there, self.taking_in = 0, False, False, False
        elif all(self.looks) and not self.down:
            if not self.taking_in:
                low = [n for n in range(4) if not pins[f"K{n}"]]
                column = low[0] if len(low) == 1 else 0
                shifted = pins["SH"] and column in SHIFTED
                self.code = column + 4 * self.row + 16 * int(shifted)
            self.there = self.taking_in = True
        elif pins["TK"]:
            self.there = False

    def outputs(self):
        """Return the level of each output pin, None where nobody can know it."""
        shown = {f"S{n}": None if self.row is None else int(bool(self.reset) or n != self.row) for n in range(4)}
        shown |= {"DA": None if self.there is None else int(self.there)}
        shown |= {"DN": None if self.down is None else int(self.down)}
        return shown | {f"Q{n}": None if self.code is None else self.code >> n & 1 for n in range(5)}


class Board:
    """A matrix of sixteen keys that bounce, pressed one after another, sometimes two; and a host that takes codes."""

    def __init__(self, rng):
        self.rng = rng
        self.steps = 0
        self.held = {}
        self.shift = 0

    def pins(self, shown):
        """Return the pins of the next step: a column is low where a key that touches joins it to a low row."""
        rng = self.rng
        self.steps += 1
        self.held = {key: left - 1 for key, left in self.held.items() if left}
        if rng.random() < (0.1 if not self.held else 0.02):
            self.held[rng.randrange(4), rng.randrange(4)] = rng.randrange(1, 24)
        touching = [key for key, left in self.held.items() if 2 < left < 20 or rng.random() < 0.6]
        low = {column for row, column in touching if shown.get(f"S{row}") == 0}
        if rng.random() < 0.05:
            self.shift ^= 1
        pins = {f"K{n}": int(n not in low) for n in range(4)}
        reset = self.steps <= LOOKS + 1 or rng.random() < 0.005
        return pins | {"SH": self.shift, "TK": int(rng.random() < 0.15), "RES": int(reset)}
