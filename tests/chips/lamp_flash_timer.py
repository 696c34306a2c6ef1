"""
The lamp-flash timer as a plain program, written from what it is meant to do and not from its gates.

The names of the rhythms are those of marine lights (flashing, isophase, group flashing, quick: common practice on
charts); how many steps light and period take is of this chip alone.
"""

PINS = ("RES", "SET", "D0", "D1", "D2", "D3", "DUSK", "TEST", "SENS")
OUTPUTS = ("LAMP", "FAIL", "RUN", "MARK", "TICK", "Q0", "Q1", "Q2", "Q3")
CLOCK, STROBE = "CK", "SET"
LIGHT = {0: (8, {0, 1}), 1: (8, {0, 1, 2, 3}), 2: (12, {0, 1, 4, 5}), 3: (16, set(range(0, 16, 2)))}
"""Steps of a period, and those that are lit: flashing, isophase, two flashes, quick."""
DIVIDES = 8


class LampFlashTimer:
    """Counts of clock edges and steps, whether the light runs, the control word and the flag; None is not known."""

    def __init__(self):
        self.edges = 0
        self.step = 0
        self.running = False
        self.failed = False
        self.word = None
        self.test = 0

    def rest(self, pins):
        """Take the pins while CK is 0: the rise of SET takes the control word, RES clears all else."""
        if pins["SET"]:
            self.word = [pins[f"D{n}"] for n in range(4)]
        self.test = pins["TEST"]
        if pins["RES"]:
            self._clear()
        return self.outputs()

    def work(self, pins):
        """Take the rise of CK: the flag looks at the lamp as it was before, and a step may begin."""
        if pins["RES"]:
            self._clear()
            return self.outputs()
        lamp = self.lamp()
        self.failed = (self.failed and not pins["SET"]) or (bool(lamp) and not pins["SENS"])
        self.edges = (self.edges + 1) % DIVIDES
        if self.edges == DIVIDES // 2:  # the last bit of the prescaler rises
            self._step(pins)
        return self.outputs()

    def _step(self, pins):
        if self.word is None:
            return
        period, _ = LIGHT[self.character()]
        last = self.step in (period - 1, 15)
        if last:
            _, _, day, off = self.word
            self.running = bool((pins["DUSK"] or day) and not off)
        self.step = 0 if last else self.step + 1

    def _clear(self):
        self.edges, self.step, self.running, self.failed = 0, 0, False, False

    def character(self):
        return self.word[0] + 2 * self.word[1]

    def lamp(self):
        lit = self.running and self.step in LIGHT[self.character()][1]
        return int(lit or bool(self.test))

    def outputs(self):
        """Return the level of each output pin, None where nobody can know it."""
        shown = {"LAMP": self.lamp() if self.word else None, "FAIL": int(self.failed), "RUN": int(self.running)}
        shown |= {"MARK": int(self.step == 0), "TICK": int(self.edges >= DIVIDES // 2)}
        return shown | {f"Q{n}": self.step >> n & 1 for n in range(4)}


class Board:
    """Sets the control word first and seldom again, lets it run, and now and then takes the lamp out."""

    def __init__(self, rng):
        self.rng = rng
        self.steps = 0
        self.held = {"D0": 0, "D1": 0, "D2": 0, "D3": 0, "DUSK": 0, "SENS": 1}

    def pins(self, _):
        """Return the pins of the next step."""
        rng, first = self.rng, self.steps == 0
        self.steps += 1
        for name, often in (("DUSK", 0.02), ("SENS", 0.03), ("D0", 0.2), ("D1", 0.2), ("D2", 0.2)):
            if rng.random() < often:
                self.held[name] ^= 1
        self.held["D3"] = int(rng.random() < 0.2)
        return self.held | {
            "RES": int(first or rng.random() < 0.002),
            "SET": int(first or rng.random() < 0.01),
            "TEST": int(rng.random() < 0.02),
        }
