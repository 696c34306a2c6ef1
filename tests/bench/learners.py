"""
Simulated learners, by published models of learning and forgetting that are not the scheduling library's.

Fixed before anything was tuned on them. Assumptions common to all: a learner has some eighty skills; each starts with a
chance to be answered by guessing among four; help raises an answer's chance but teaches less (worked examples teach the
first steps, then little: expertise reversal, Kalyuga 2003, from memory); seeing a look-alike within the last two trials
teaches more (discriminative contrast, Kang & Pashler 2012: d about 0.5, taken as 30 % more); a wrong answer that is
told teaches as much as a right one.

- `Activation`: traces that decay the faster the stronger the memory was when they were laid (Pavlik & Anderson,
  Cognitive Science 29, 2005: a = 0.177, c = 0.217, τ = −0.704, s = 0.255; from memory). Time between days is scaled by
  0.025, as in their fits across sessions.
- `HalfLife`: recall halves after a time that doubles with practice (Settles & Meeder, ACL 2016; weights of the size
  they report for right and wrong answers, from memory).
- `PowerLaw`: strength by practice, forgotten by a power of time (Wixted & Carpenter, Psychological Science 18, 2007:
  (1 + βt)^−ψ; β = 0.8, ψ = 0.35 chosen for a retention of about a half after a month).
"""

import math
from abc import ABC, abstractmethod

from layoutdrill.dice import Dice

GUESS = 0.25
CONTRAST = 1.3
"""How much more a trial teaches with a look-alike near it."""
AIDED_TEACHES = 0.6
"""How much a trial with all help teaches after the second; before that it teaches in full."""


class Learner(ABC):
    """One learner: asked about skills by number at times in days; what they know is hidden from who asks."""

    def __init__(self, skills: int, dice: Dice) -> None:
        self.dice = dice
        # Skills are unlike: some are learned twice as fast as others, and so are learners.
        self.ease = [0.7 + 0.6 * dice.fraction() for _ in range(skills)]
        self.pace = 0.8 + 0.4 * dice.fraction()
        self.seen = [0] * skills

    @abstractmethod
    def known(self, skill: int, day: float) -> float:
        """Return the chance, from 0 to 1, that the skill is there, guessing apart."""

    @abstractmethod
    def teach(self, skill: int, day: float, amount: float, *, right: bool) -> None:
        """Learn from one trial; `amount` is 1 for a plain one."""

    def answer(self, skill: int, day: float, aid: float, *, contrast: bool) -> bool:
        """Answer one question, and learn from it."""
        chance = self.known(skill, day)
        chance += (1 - chance) * (GUESS + (1 - GUESS) * 0.8 * aid)
        right = self.dice.fraction() < chance
        amount = self.pace * self.ease[skill] * (CONTRAST if contrast else 1.0)
        if self.seen[skill] >= 2:
            amount *= 1 - (1 - AIDED_TEACHES) * aid
        self.seen[skill] += 1
        self.teach(skill, day, amount, right=right)
        return right


class Activation(Learner):
    """Pavlik & Anderson 2005."""

    name = "activation"
    A, C, TAU, S, SCALE = 0.177, 0.217, -0.704, 0.255, 0.025

    def __init__(self, skills: int, dice: Dice) -> None:
        super().__init__(skills, dice)
        self.traces: list[list[tuple[float, float, float]]] = [[] for _ in range(skills)]

    def _strength(self, skill: int, day: float) -> float:
        total = 0.0
        for at, decay, weight in self.traces[skill]:
            seconds = max(1.0, (day - at) * 86400 * self.SCALE)
            total += weight * seconds**-decay
        return math.log(total) if total > 0 else -math.inf

    def known(self, skill: int, day: float) -> float:
        strength = self._strength(skill, day)
        return 0.0 if strength == -math.inf else 1 / (1 + math.exp(min(60.0, (self.TAU - strength) / self.S)))

    def teach(self, skill: int, day: float, amount: float, *, right: bool) -> None:
        strength = self._strength(skill, day)
        decay = self.A + (self.C * math.exp(strength) if strength > -math.inf else 0.0)
        self.traces[skill].append((day, min(decay, 2.0), amount))


class HalfLife(Learner):
    """Settles & Meeder 2016."""

    name = "half-life"
    FIRST, RIGHT, WRONG = -1.5, 0.75, 0.45

    def __init__(self, skills: int, dice: Dice) -> None:
        super().__init__(skills, dice)
        self.log_half = [-math.inf] * skills
        self.last = [0.0] * skills

    def known(self, skill: int, day: float) -> float:
        if self.log_half[skill] == -math.inf:
            return 0.0
        return 2 ** (-(day - self.last[skill]) / 2 ** self.log_half[skill])

    def teach(self, skill: int, day: float, amount: float, *, right: bool) -> None:
        if self.log_half[skill] == -math.inf:
            self.log_half[skill] = self.FIRST + amount
        else:
            # What is recalled at once was not forgotten: little is gained (spacing effect).
            spaced = 1 - 0.9 * self.known(skill, day)
            self.log_half[skill] += amount * spaced * (self.RIGHT if right else self.WRONG) * 2
        self.last[skill] = day


class PowerLaw(Learner):
    """Wixted & Carpenter 2007."""

    name = "power law"
    BETA, PSI, GAIN = 0.8, 0.35, 0.30

    def __init__(self, skills: int, dice: Dice) -> None:
        super().__init__(skills, dice)
        self.level = [0.0] * skills
        self.slow = [1.0] * skills
        self.last = [0.0] * skills

    def known(self, skill: int, day: float) -> float:
        return self.level[skill] * (1 + self.BETA * (day - self.last[skill])) ** (-self.PSI * self.slow[skill])

    def teach(self, skill: int, day: float, amount: float, *, right: bool) -> None:
        now = self.known(skill, day)
        self.level[skill] = min(1.0, now + (1 - now) * min(0.9, self.GAIN * amount))
        if day - self.last[skill] >= 0.5:  # each day of practice makes forgetting slower
            self.slow[skill] *= 0.85
        self.last[skill] = day


MODELS: tuple[type[Learner], ...] = (Activation, HalfLife, PowerLaw)
