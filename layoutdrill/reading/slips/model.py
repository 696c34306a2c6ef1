"""A slip: what is odd in a netlist that someone read off a chip, where, and the change that would mend it."""

from layoutdrill.netlist.model import Kind
from layoutdrill.recognise.model import Recognition
from layoutdrill.recognise.view import View
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import value


@value
class Slip:
    """One oddity. `kind` is a key of KINDS; `repair` says what single change would mend it, "" where unknown."""

    kind: str
    text: str
    transistors: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()
    repair: str = ""


def article(kind: Kind) -> str:
    """Return a kind of transistor with its article."""
    return f"{'an' if kind is Kind.N else 'a'} {kind}"


KINDS = {
    "no supply": "a supply that is missing",
    "supplies joined": "a transistor between the two supplies",
    "floating gate": "a gate that nothing drives",
    "other kind": "a transistor of the wrong kind where it stands",
    "shorted ends": "source and drain on one net",
    "networks do not match": "pull-up and pull-down that are no complements",
    "missing device": "a stage that lacks a transistor which its likes have",
    "unlike its likes": "a place that one edit makes equal to others like it",
    "missing load": "a ratioed stage without a load",
    "odd load": "a load with its gate elsewhere than its likes",
    "wrong rail": "a driver that leads to the rail of the load",
    "diode turned round": "a diode that conducts all the time, or against others in its row",
    "own output": "a stage that reads its own output",
    "two loads": "a net with more loads than its likes",
    "idle load": "a load that can never conduct",
    "undriven output": "an output that nothing drives, or that only goes one way",
    "unread net": "a net that is driven and that nothing reads",
    "half a switch": "a transmission gate that lacks a half, or whose halves do not open together",
    "two ways at once": "two switches that open together and join nets that are driven apart",
    "phase out of turn": "two stores in a row that open together, or a net that the wrong phase lets go",
    "wrong side": "a memory cell on other lines than its column",
    "same address": "two lines of a decoder that answer one address",
    "no address": "a line of a decoder that answers none, or several",
    "odd proportion": "a stage whose sides are sized as those of no others like it",
    "written twice": "a transistor that stands there twice, where its likes stand once",
    "loose end": "a channel that leads nowhere",
    "wrong body": "a body on the wrong supply",
    "unused port": "a port that nothing touches",
}
"""The kinds of slip, the gravest first, each in words."""


@value
class Scene:
    """
    What slips are looked for in: the circuit as gates and switches, what was recognised, what the reader says.

    Without `search` slips are only counted: no edit is looked for that mends them.
    """

    view: View
    recognition: Recognition
    dynamic: frozenset[str] = frozenset()
    open_drain: frozenset[str] = frozenset()
    clocks: frozenset[str] = frozenset()
    drawn: bool = False
    search: bool = True

    @property
    def supplies(self) -> Supplies:
        return self.recognition.supplies

    def owners(self, *terms: str) -> dict[str, str]:
        """Return, for each transistor in a structure of one of these terms, at any depth, that term."""
        return {name: s.term for s in self.recognition.all() if s.term in terms for name in s.transistors}
