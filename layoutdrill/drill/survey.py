"""
A survey: one die read as a practitioner reads it, from its supplies and pads to what it does on the board.

Its steps are in the order of that work; what each asks follows from the die: its parts, the cells that repeat in them
(cut out of this very die), its lines, and the log of its board.
"""

from collections.abc import Iterator, Mapping
from itertools import islice
from threading import Lock

from layoutdrill.cells import load_cell
from layoutdrill.cells.chips import chip_names
from layoutdrill.deck import Deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.drill.plan import Draw
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.process import load_process, process_names
from layoutdrill.question import Specimen, kinds
from layoutdrill.question.board_log.run import story_of
from layoutdrill.question.cut_out import cut_out, readable_parts
from layoutdrill.question.die_plan import Area, DiePlan, die_plan
from layoutdrill.recognise.model import Structure
from layoutdrill.value import value

SURVEY = Deck("survey", "Survey", "One die, read from its pads to what it does.", ())
"""Stands for the deck of a survey, whose die comes from the library."""
SORT = SURVEY.name
DIFFICULTY = 0.3
MOST_SEEDS = 40
"""So many dies of a chip are surveyed, so that a die that was proved once is likely to be met again."""
SUPPLIES, PLAN, SLICE, REST, LINES, BOARD = (
    "supplies and pads",
    "plan and pitch",
    "one slice in full",
    "the rest by repetition",
    "clocks and controls",
    "against the board",
)
STEPS = (SUPPLIES, PLAN, SLICE, REST, LINES, BOARD)
"""The steps of a survey, in order."""
ABOUT: Mapping[str, str] = {
    SUPPLIES: "who is who at the edge, from the widest metal and from what stands at each pad",
    PLAN: "which fields repeat, how often and at what distance, before any wire is traced",
    SLICE: "one cell of the largest field, cut out of this die: its devices, its gates, what it is and does",
    REST: "what follows by repetition alone",
    LINES: "which lines cross all cells, who drives them, and where the pads' signals go",
    BOARD: "a log of the board, held against what has been read",
}
ASKED_SO: Mapping[str, str] = {
    "supplies": "Begin at the widest metal, and follow it back to its pads.",
    "pad": "Look at what stands between the pad and the middle of the die: fingers on a rail, a comb, or nothing.",
    "edge": "Count what stands at the pads, edge by edge.",
    "where": "Go from the large to the small: first the field that is like itself all over.",
    "bits": "Count along the row what comes again and again; its ends may carry something more.",
    "pitch": "Measure from one contact to the same contact several cells on, and divide.",
    "ends": "What repeats begins anew there: look for where the same sight starts again.",
    "whole": "Count one, then multiply.",
    "select": "Go back from the row's clock lines to the gate that drives them, and on to the decoder.",
    "clock": "A common line crosses all cells; a data line ends at one.",
    "driver": "Follow the line out of the field until it ends at the output of a gate.",
    "signal": "Below the broad rail the wire goes on in another layer.",
    "gate": "Follow the wire along the channel to the row at which it turns in.",
    "column": "Ask of each row what the controls let happen in it, then what is stored.",
    "row": "Run the log row by row against what the die does.",
    "cause": "Which part do the wrong pins belong to, and what had to happen in that row?",
}
"""A hint for each sort of question, in words."""
_LATER = ("transcribe", "sequence", "function", "table")
_FIRST = ("count", "rails", "polarity", "name")
_MOST_PLACES = 4
_PARTS = 2
"""Fields of which one cell is cut out."""
_TRIED = 3
"""Parts of a repeat, the largest first, of which the first that can be cut out is taken."""


@value
class Step:
    """Something to be asked in a survey: in which step, by which kind, which sort of it, about which part."""

    step: str
    kind: str
    ask: str = ""
    part: str = ""


class DieMaker(SpecimenMaker):
    """Makes the specimens of a survey: one die, and the parts cut out of it, each made once."""

    def __init__(self) -> None:
        super().__init__(SURVEY)
        self._die_lock = Lock()
        self._dies: dict[tuple[str, str, int], tuple[Specimen, DiePlan]] = {}
        self._parts: dict[tuple[str, str, int, str], Specimen] = {}

    def specimen(self, cell: str, process: str, seed: int, difficulty: float) -> Specimen:
        return self.die(cell, process, seed, difficulty)[0]

    def die(self, cell: str, process: str, seed: int, difficulty: float = DIFFICULTY) -> tuple[Specimen, DiePlan]:
        """Return a die and its plan. Raises LayoutdrillError where it cannot be drawn, or has no plan."""
        with self._die_lock:
            if (cell, process, seed) not in self._dies:
                die = super().specimen(cell, process, seed, difficulty)
                plan = die_plan(die)
                if plan is None or not plan.areas:
                    raise LayoutdrillError(f"{cell} has no plan to survey", todo="choose a chip: " + _known())
                self._dies[cell, process, seed] = die, plan
            return self._dies[cell, process, seed]

    def part(self, cell: str, process: str, seed: int, difficulty: float, name: str) -> Specimen:
        key = (cell, process, seed, name)
        die, plan = self.die(cell, process, seed, difficulty)
        if key not in self._parts:
            made = next((part for own, part in parts_of(die, plan) if own == name), None)
            self._parts[key] = super().part(*key[:3], difficulty, name) if made is None else made
        return self._parts[key]


def parts_of(die: Specimen, plan: DiePlan) -> Iterator[tuple[str, Specimen]]:
    """Yield by name, for each field, large ones first, a part that can be cut out of it and read in full."""
    for area in _by_size(plan):
        repeat = area.repeats[len(area.repeats) // 2]
        units: list[Structure] = sorted(readable_parts(repeat), key=lambda part: -len(part.transistors))
        made = ((unit, cut_out(die, plan.recognition, unit)) for unit in units[:_TRIED])
        unit, part = next(((unit, part) for unit, part in made if part is not None), (None, None))
        if unit is not None and part is not None:
            yield f"{area.family}: {unit.term}", part


def _by_size(plan: DiePlan) -> list[Area]:
    return sorted(plan.areas, key=lambda area: (-len(area.structure.transistors), area.rect))


def survey_draws(maker: DieMaker, cell: str, process: str, seed: int) -> tuple[Draw, ...]:
    """Return what a survey of a die asks, in order. Slow: it draws the die."""
    die, plan = maker.die(cell, process, seed)
    dice = Dice.from_text(f"survey {cell} {process} {seed}")
    made = dict(islice(parts_of(die, plan), _PARTS))
    draws = []
    for step in _steps(cell, plan, made, dice):
        specimen = made[step.part] if step.part else die
        if step.step != BOARD and kinds()[step.kind].ask_for(step.ask, specimen, Dice(seed)) is None:
            continue
        number = STEPS.index(step.step) + 1
        hint = ASKED_SO.get(step.ask.partition(" ")[0])
        draws.append(
            Draw(
                cell=cell,
                process=process,
                structure=die.structure,
                seed=seed,
                difficulty=DIFFICULTY,
                kind=step.kind,
                kinds=(step.kind,),
                hints=(hint,) if hint else (),
                words=f"Step {number}, {step.step}.",
                ask=step.ask,
                part=step.part,
                step=step.step,
            )
        )
    return tuple(draws)


def _steps(cell: str, plan: DiePlan, made: Mapping[str, Specimen], dice: Dice) -> Iterator[Step]:
    """Yield everything that a survey would ask of a die with this plan and these parts."""
    for ask in ("supplies", "pad input", "pad output", "edge"):
        yield Step(SUPPLIES, "block", ask)
    by_size = _by_size(plan)
    families = list(dict.fromkeys(area.family for area in by_size))
    for family in families[:_MOST_PLACES]:
        yield Step(PLAN, "block", f"where {family}")
    yield Step(PLAN, "block", "where output")
    row = next((area.family for area in plan.rows(even=True)), "")
    for ask in ("bits", "pitch", "ends"):
        yield Step(PLAN, "block", f"{ask} {row}".strip())
    names = list(made)
    for name in names[:1]:
        yield from (Step(SLICE, kind, part=name) for kind in (*_FIRST, *_work(made[name], dice)))
    for name in names[1:]:
        yield Step(REST, "name", part=name)
        yield from (Step(REST, kind, part=name) for kind in _work(made[name], dice)[:1])
    yield Step(REST, "block", "whole")
    for ask in ("clock", "driver", "select", "signal", "gate"):
        yield Step(LINES, "block", ask)
    for ask in ("column", "row", "cause") if story_of(cell) is not None else ():
        yield Step(BOARD, "board log", ask)


def _work(part: Specimen, dice: Dice) -> list[str]:
    """Return the kinds that ask what a part does: its netlist written, and its function, table or sequence."""
    fitting = [kind for kind in _LATER if kinds()[kind].ask(part, Dice(dice.below(1000))) is not None]
    return [*fitting[:1], *[kind for kind in fitting[1:] if kind != "transcribe"][:1]]


def surveyed_processes(cell: str) -> tuple[str, ...]:
    """Return the processes that a chip can be surveyed in. Raises LayoutdrillError for what is no chip."""
    if cell not in chip_names():
        what = f"“{cell}” is no chip that can be surveyed"
        raise LayoutdrillError(what, todo=did_you_mean(cell, chip_names()) or f"choose {_known()}")
    return tuple(name for name in process_names() if load_cell(cell).fits(load_process(name)))


def _known() -> str:
    return ", ".join(chip_names())


def survey_title(cell: str, process: str) -> str:
    return f"Survey: {load_cell(cell).title}, {load_process(process).title}"
