"""Help in steps: what each step shows, and the part of the credit it costs."""

from collections.abc import Iterable, Mapping

from layoutdrill.question.model import Hint, HintStep, Verdict

_TEXT = {
    HintStep.AID: "The tracing aid is on: metal is darker where it lies deeper. No die shows this.",
    HintStep.RAILS: "The two supplies are outlined. Start there.",
    HintStep.DEVICES: "Every transistor is outlined.",
    HintStep.NETS: "The nets are numbered: one number, one net.",
    HintStep.LIFT_METAL: "The metal is lifted off; what lay beneath it shows.",
    HintStep.NETLIST: "Here is the netlist.",
}
COSTS = {
    HintStep.AID: 0.1,
    HintStep.RAILS: 0.1,
    HintStep.DEVICES: 0.2,
    HintStep.NETS: 0.2,
    HintStep.LIFT_METAL: 0.1,
    HintStep.NETLIST: 0.4,
}
"""What a step costs unless a kind says otherwise, as a part of the full credit."""


def hints(steps: Iterable[HintStep], costs: Mapping[HintStep, float] | None = None) -> tuple[Hint, ...]:
    """Build the hints of a question, in order; `costs` overrides the usual cost of a step."""
    own = costs or {}
    return tuple(Hint(step, _TEXT[step], own.get(step, COSTS[step])) for step in steps)


def percent(share: float) -> str:
    """Write a part of the credit as it stands everywhere: “10%”."""
    return f"{share:.0%}"


def costs(hint: Hint) -> bool:
    """Tell whether a hint costs as much as is written of a credit, one in a hundred."""
    return percent(hint.cost) != percent(0)


def author_hint(text: str, cost: float = 0.1) -> Hint:
    """Make a hint of a deck author's own words."""
    return Hint(HintStep.WORDS, text, cost)


def credit_after(verdict: Verdict, taken: Iterable[Hint]) -> float:
    """Return the credit that is left when these hints were taken: never below 0."""
    return round(verdict.credit * max(0.0, 1 - sum(hint.cost for hint in taken)), 3)
