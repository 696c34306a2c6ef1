"""A hand-made inverter and a sitting that needs no deck, for tests of screens alone."""

from dataclasses import dataclass, field

from layoutdrill.deck.model import Deck
from layoutdrill.drill.summary import Summary, Tally
from layoutdrill.drill.visited import Visited
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.process import load_process
from layoutdrill.question.count import TransistorsKey
from layoutdrill.question.model import Answer, Hint, HintStep, Mark, Question, Specimen, Verdict
from layoutdrill.question.name import NameKey
from layoutdrill.question.point import PointKey


def doubled(*rects):
    """Rectangles in λ as grid units of a process with two to the λ."""
    return tuple(Rect(*(2 * v for v in rect)) for rect in rects)


INVERTER = Layout(
    "inverter",
    {
        "nwell": doubled((-6, 16, 18, 34)),
        "active": doubled((0, 4, 12, 8), (0, 20, 12, 28)),
        "nselect": doubled((-2, 2, 14, 10)),
        "pselect": doubled((-2, 18, 14, 30)),
        "poly": doubled((5, 2, 7, 30), (1, 12, 7, 15)),
        "contact": doubled((1, 5, 3, 7), (9, 5, 11, 7), (1, 23, 3, 25), (9, 23, 11, 25), (2, 13, 4, 14)),
        "metal": doubled(
            (-4, -2, 16, 2), (-4, 30, 16, 34), (0, 2, 4, 8), (0, 22, 4, 30), (8, 4, 12, 26), (1, 12, 5, 15)
        ),
    },
    (
        Label("VSS", "metal", 0, 0),
        Label("VDD", "metal", 0, 64),
        Label("A", "metal", 4, 26),
        Label("Y", "metal", 20, 30),
    ),
)

NETLIST = Netlist(
    "inverter",
    ("VSS", "VDD", "A", "Y"),
    (
        Transistor("M1", Kind.N, "A", "VSS", "Y", "", 3000, 6000),
        Transistor("M2", Kind.P, "A", "VDD", "Y", "", 3000, 12000),
    ),
)


@dataclass
class Found:
    """An extraction written down by hand."""

    netlist: Netlist = NETLIST
    findings: tuple = ()

    def channel(self, transistor):
        return doubled((5, 4, 7, 8)) if transistor == "M1" else doubled((5, 20, 7, 28))

    def net_shapes(self, net):
        return {"metal": doubled((8, 4, 12, 26))} if net == "Y" else {}

    def nets_at(self, x, y):
        return ()

    def transistor_at(self, x, y):
        return None


def specimen():
    return Specimen(
        "inverter",
        "inverter",
        ("NOT",),
        DrawnFace(INVERTER, load_process("silicon-gate-cmos"), Found()),
        NETLIST,
        "the two transistors between the rails",
        "Pull-up and pull-down share one gate line and one output.",
        3,
    )


def name_question():
    return Question(
        "name",
        "Which structure is this?",
        specimen(),
        ("NAND2", "inverter", "NOR2", "transmission gate"),
        (),
        (),
        NameKey("inverter", ("NOT",), ("NAND2", "inverter", "NOR2", "transmission gate")),
        hints=(Hint(HintStep.WORDS, "Count the gate lines first.", 0.1), Hint(HintStep.DEVICES, "Two devices.", 0.2)),
    )


def point_question():
    key = PointKey("n transistor", "an n transistor", doubled((5, 4, 7, 8)), (), "the gate", 2)
    return Question("point", "Point at the n transistor.", specimen(), (), (), (), key, True)


def count_question():
    return Question(
        "count",
        "How many transistors, in all?",
        specimen(),
        (),
        ("body ties are not drawn [taps]",),
        (Mark("P", 10, 12),),
        TransistorsKey("transistors", 1, 1, 2),
    )


@dataclass
class FakeSitting:
    """Three questions, graded by hand."""

    title: str = "practice"
    total: int = 3
    told_besides: tuple = ()
    look: str = "stick-colours"
    sort: str = "deck"
    tells: bool = True
    left: float | None = None
    goes_on: str = "start again"
    position: int | None = 0
    deck: Deck = field(default_factory=lambda: Deck("practice", "practice", "", ()))
    kept: list = field(default_factory=list)
    broken: bool = False
    made: dict = field(default_factory=dict)

    def prepare(self, index):
        if self.broken:
            raise LayoutdrillError("the drawing is not there", todo="try another deck")
        return self.made.setdefault(index, (name_question, count_question, point_question)[index]())

    def prepared(self, index):
        return self.made.get(index)

    shown_in: str = ""
    worn: float | None = 0.0

    @property
    def answered(self):
        return len(self.kept)

    def close(self):
        """Nothing is open."""

    def help(self, number):
        return ()

    hinted: dict = field(default_factory=dict)
    drafts: dict = field(default_factory=dict)

    def draft(self, number):
        return self.drafts.get(number, "")

    def note_draft(self, number, text):
        self.drafts[number] = text

    def hints_given(self, number):
        return self.hinted.get(number, 0)

    def note_hint(self, number):
        self.hinted[number] = self.hints_given(number) + 1

    @property
    def done(self):
        return frozenset(range(len(self.kept)))

    @property
    def missed(self):
        return tuple(at for at, (_, answer, _) in enumerate(self.kept) if answer is None)

    def again(self, number):
        _, answer, _ = self.kept[number]
        verdict = Verdict(0.0, f"Told of {number + 1} before.", "inverter", "two transistors, one input", ("M1",))
        return self.prepare(number), answer or Answer(), verdict

    told_later: str = ""
    hand_in: str = ""
    sureness: bool = False
    visited: Visited = field(default_factory=Visited)
    glimpse: float = 0.0
    asks: tuple = ()
    sure: list = field(default_factory=list)

    def seen_for(self, number):
        return self.glimpse

    def asks_sureness(self, number):
        return self.sureness and number in self.asks

    def remarks(self):
        told, self.told_besides = self.told_besides, ()
        return told

    def accept(self, question, text):
        if question.kind == "count" and not text.isdigit():
            raise LayoutdrillError("a number is wanted", todo="type how many")
        return Answer(text=text)

    def skip(self, question, seconds, hints=()):
        self.kept.append((question.kind, None, hints))
        return Verdict(0.0, "Skipped.", "inverter", "two transistors, one input")

    def placement(self):
        return {}

    def submit(self, question, answer: Answer, seconds, hints, confidence=None):
        self.sure.append(confidence)
        right = {
            "name": answer.text in ("b", "inverter"),
            "count": answer.text == "2",
            "point": answer.point is not None and abs(answer.point[0] - 12) < 4,
        }[question.kind]
        self.kept.append((question.kind, answer, hints))
        return Verdict(
            1.0 if right else 0.0,
            "One gate line serves both.",
            "inverter",
            "two transistors, one input",
            ("M1", "M2"),
            ("Y",),
            (),
            "" if right else "NAND2",
        )

    def summary(self):
        right = sum(1 for _, answer, _ in self.kept if answer is not None)
        return Summary(self.total, len(self.kept), right, 0, float(right), 2.0, (Tally("inverter", 3, right),), (), ())
