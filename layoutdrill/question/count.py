"""How many transistors: n, p, in all, within a stated boundary."""

import re
from random import Random

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Kind
from layoutdrill.question.choices import nonempty
from layoutdrill.question.hints import hints
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict

_STEPS = (HintStep.RAILS, HintStep.LIFT_METAL, HintStep.DEVICES)
_COSTS = {HintStep.DEVICES: 0.5}
_NUMBER = re.compile(r"\d+")
_NAMED = re.compile(r"\b(n|p|all|total|in all)\s*[=:]?\s*(\d+)")


class Count:
    """
    Count transistors.

    A third of the credit for each of n, p and the total that is right. One channel split into fingers counts once.
    """

    name = "count"
    title = "Count the transistors"
    cues: tuple[str, ...] = ("transistors", "polarity")

    def ask(self, specimen: Specimen, rng: Random) -> Question | None:
        netlist = specimen.netlist
        if not netlist.transistors:
            return None
        n, p = netlist.count(Kind.N), netlist.count(Kind.P)
        boundary = specimen.boundary.rstrip(".")
        return Question(
            kind=self.name,
            prompt="How many transistors: n, p, in all? Type three numbers, like 4 3 7. Parallel fingers count once.",
            specimen=specimen,
            choices=(),
            facts=(f"Boundary: {boundary}.",) if boundary else (),
            marks=(),
            key={"n": n, "p": p, "all": n + p},
            hints=hints(_STEPS, _COSTS),
        )

    def accept(self, question: Question, text: str) -> Answer:
        words = nonempty(text)
        _numbers(words)
        return Answer(words)

    def grade(self, question: Question, answer: Answer) -> Verdict:
        right = tuple(int(str(question.key[part])) for part in ("n", "p", "all"))
        given = _numbers(answer.text)
        hits = sum(g == r for g, r in zip(given, right, strict=True))
        names = ("n", "p", "in all")
        told = ", ".join(f"{r} {name}" for r, name in zip(right, names, strict=True))
        wrong = [f"{name}: {r}, not {g}" for name, g, r in zip(names, given, right, strict=True) if g != r]
        summary = f"Right: {told}." if not wrong else "Not quite: " + "; ".join(wrong) + "."
        outlined = tuple(t.name for t in question.specimen.netlist.transistors)
        decides = "a transistor is wherever a gate lies over a channel between two diffusions; each is outlined"
        return Verdict(1.0 if hits == 3 else round(hits / 3, 3), summary, told, decides, outlined)


def _numbers(text: str) -> tuple[int, int, int]:
    """Read “2 2 4”, “n=2 p=2 all=4” or “2 n, 2 p” (the total is then their sum)."""
    lower = text.lower()
    named = {("all" if name in ("total", "in all") else name): int(value) for name, value in _NAMED.findall(lower)}
    trailing = {name: int(value) for value, name in re.findall(r"(\d+)\s*(n|p)\b", lower)}
    named = named or trailing
    if "n" in named and "p" in named:
        return named["n"], named["p"], named.get("all", named["n"] + named["p"])
    plain = [int(value) for value in _NUMBER.findall(lower)]
    if len(plain) == 3 and not named:
        return plain[0], plain[1], plain[2]
    raise LayoutdrillError("three numbers are wanted: n, p, in all", todo='type them like "2 2 4"')
