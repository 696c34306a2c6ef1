"""What a kind of question must bring: it owns its rules, and no other room asks which kind a question is of."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.looks import PHOTOGRAPHIC, load_look
from layoutdrill.process import Process
from layoutdrill.question.choices import blank
from layoutdrill.question.keys import Key
from layoutdrill.question.model import Answer, Question, Specimen, Verdict
from layoutdrill.question.naming import sentence
from layoutdrill.question.needed import rails_told, wells_told
from layoutdrill.question.recap import Given, Recap, recapped
from layoutdrill.recognise.terms import family

if TYPE_CHECKING:
    from layoutdrill.question.stepping import Stepping


_PARTS = {0.5: "Half", 0.25: "A quarter", 0.333: "A third", 0.667: "Two thirds", 0.75: "Three quarters"}
"""How the parts of the credit are called that an answer earns by what it has right."""


class Group(StrEnum):
    """What kinds of question train: one skill is a subject in one group."""

    SEE = "see"  # tell what lies where
    NAME = "name"  # know a structure at sight
    WORK = "work out"  # say what a circuit does
    WRITE = "write"  # write it down


class QuestionKind(ABC):
    """
    One kind of question. A kind that leaves out its evidence (`needs`) cannot be made.

    `key_type` is its key's type. `untold` are facts that every question of the kind needs and that cannot be told with
    it: where a look hides one, none need be made. `tells_structure` and `tells_boundary` say whether what the cell is
    known to be, and what belongs to it when devices are counted, are to the point of its verdicts. `tells_places` says
    whether the layers at a mark may be told with the question: not where they are what is asked, or how one tells.

    Without `tells_circuit` no table of transistors follows the verdict: two pictures are one drawing to us alone.

    With `own_look` each question says in which look it is shown, whatever look was chosen. With `on_dirt` its marks may
    stand on dust. Without `names_process` neither the process nor a layer may be named beside a question. One of a
    `whole_die` is asked of dies with their pads, and of nothing smaller.

    Where an answer that is not right earns a part of the credit, `partly` says why, part by part.
    """

    name: ClassVar[str]
    title: ClassVar[str]
    key_type: ClassVar[type[Key]]
    group: ClassVar[Group] = Group.WORK
    untold: ClassVar[frozenset[Fact]] = frozenset()
    tells_structure: ClassVar[bool] = False
    tells_boundary: ClassVar[bool] = False
    tells_places: ClassVar[bool] = True
    own_look: ClassVar[bool] = False
    on_dirt: ClassVar[bool] = False
    names_process: ClassVar[bool] = True
    whole_die: ClassVar[bool] = False
    tells_circuit: ClassVar[bool] = True
    partly: ClassVar[tuple[tuple[float, str], ...]] = ()

    @abstractmethod
    def ask(self, specimen: Specimen, dice: Dice) -> Question | None:
        """Make a question about the specimen, or None where this kind does not fit it."""

    def ask_for(self, what: str, specimen: Specimen, dice: Dice) -> Question | None:
        """Make a question of one sort, where a kind has several that can be named; most have not."""
        return self.ask(specimen, dice)

    @abstractmethod
    def needs(self, question: Question) -> frozenset[Fact]:
        """Return the facts that the picture must show for this very question to be answered from it."""

    @abstractmethod
    def accept(self, question: Question, text: str) -> Answer:
        """Read what was typed; raise LayoutdrillError with a plain remark when it cannot be an answer."""

    @abstractmethod
    def grade(self, question: Question, answer: Answer) -> Verdict:
        """Judge the answer by meaning; an empty answer earns nothing and is told what is right."""

    @abstractmethod
    def instead(self, question: Question, answer: Answer) -> str:
        """Say what one would see were this answer, which is wrong, the right one; and what is there in its stead."""

    @abstractmethod
    def solution(self, question: Question) -> Answer:
        """Return an answer that earns all."""

    def under_glass(self, question: Question) -> str:
        """Say what a photograph of a die adds to what decides, such as a rim; flat mask colours have none."""
        return ""

    def judge(self, question: Question, answer: Answer, look: str = "") -> Verdict:
        """Grade an answer, and say why not where it is wrong; `look` is what the question is shown in, or ""."""
        verdict = self.grade(question, answer)
        rims = self.under_glass(question) if look and load_look(look).style in PHOTOGRAPHIC else ""
        verdict = replace(verdict, decides=f"{sentence(verdict.decides)} {rims}" if rims else verdict.decides)
        if why := self.part_told(question, answer, verdict.credit) if verdict.credit in _PARTS else "":
            verdict = replace(verdict, summary=f"{verdict.summary} {_PARTS[verdict.credit]} of the credit: {why}.")
        wrong = not verdict.correct and not blank(answer)
        return replace(verdict, instead=self.instead(question, answer)) if wrong else verdict

    def part_told(self, question: Question, answer: Answer, credit: float) -> str:
        """Say why an answer that is not right earns this part of the credit; "" where it is not to be said."""
        return dict(self.partly).get(credit, "")

    def read_key(self, given: Mapping[str, object]) -> Key:
        """Read a key from its JSON; raises LayoutdrillError where it is damaged."""
        return self.key_type.read(given)

    def askable(self, netlist: Netlist, process: Process, ports: tuple[Port, ...] = ()) -> bool:
        """
        Tell from the netlist, and from what its `ports` are for where that is known, whether it can be asked at all;
        the drawing may still refuse it.
        """
        return True

    def subject(self, question: Question) -> str:
        """Return what the question trains: a thing to be seen, or the family of the structure."""
        return family(question.specimen.structure) if question.specimen.structure else ""

    def tell(self, question: Question, hidden: frozenset[Fact]) -> tuple[str, ...] | None:
        """
        Return what to tell so that kinds, rails and wells can be read where a look hides them; None where that would be
        the answer, or another cue can be asked about.
        """
        return wells_told(question.specimen) if hidden == {Fact.WELL} else rails_told(question.specimen)

    def recap(self, given: Given) -> Recap:
        """Say, without the picture, what was right and what was answered."""
        return recapped(given)

    def stepping(self, question: Question) -> "Stepping | None":
        """Return what can be stepped through after the verdict, None where no circuit is at work."""
        return None

    def kept_clear(self, question: Question) -> tuple[tuple[int, int], ...]:
        """Return the places on which no dust may lie for the question to be fair: its marks."""
        return tuple((mark.x, mark.y) for mark in question.marks)

    def in_sight(self, question: Question) -> tuple[Rect, ...]:
        """Return what the first view must show beside the marks: of several pictures in one, each."""
        return tuple(self.pictures(question).values())

    def pictures(self, question: Question) -> Mapping[str, Rect]:
        """Return the pictures that are to be compared, by name: that of a choice is its letter."""
        return {}

    def measured(self, question: Question) -> bool:
        """Tell whether a length on the picture is asked for."""
        return False

    def fields(self, question: Question) -> Mapping[str, tuple[Rect, ...]]:
        """Return the fields that a verdict speaks of, by what they are called, and the cells that repeat in each."""
        return {}

    def any_in_sight(self, question: Question) -> tuple[Rect, ...]:
        """Return places of which the first view must show one, where there are no marks."""
        return ()
