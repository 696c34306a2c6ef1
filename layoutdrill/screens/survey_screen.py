"""Surveys: begin one on a chip, go on with one, see what each step found, and have the report written."""

from collections.abc import Sequence
from time import monotonic
from typing import TYPE_CHECKING, ClassVar

from textual.content import Content
from textual.message import Message

from layoutdrill.screens.doors import DoorPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.screens.text_page import TextPage
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from pathlib import Path

    from layoutdrill.drill.survey_findings import Survey

INTRO = "One die read from scratch, at your own pace: leave whenever you like, and go on where you left."
DRAWING = "Drawing and proving the die: {part}. {seconds} s so far; a large one takes a minute or two at first."
BEGINNING = "its plan is made"
MOST = 6
"""Surveys that are listed, the newest first."""


class SurveyScreen(DoorPage):
    """The chips that can be surveyed, and the surveys that were begun."""

    name_of: ClassVar[str] = "survey"
    about: ClassVar[str] = (
        "A survey takes a chip from its pads to what it does: supplies and pads, plan and pitch, one slice in full, "
        "the rest by repetition, clocks and controls, a log of the board. The same die all the way; the "
        "overview marks where you have looked closely. “Report” writes down what you found, alone or with help, and "
        "what is doubtful, as a page with pictures."
    )
    BINDINGS = bindings_for("survey")

    @mutable
    class ListRead(Message):
        """A worker read the chips and the records."""

        rows: tuple[Row, ...]

    @mutable
    class ReportWritten(Message):
        """A worker wrote a report: its title, its words, and where it lies."""

        title: str
        words: str
        path: "Path"

    _began = 0.0
    """When the die was chosen that is being made."""

    def on_mount(self) -> None:
        self.head("Survey a chip")
        self.intro = INTRO
        self.say("reading your surveys …")
        self.set_interval(1, self._say_how_far)

    def on_screen_resume(self) -> None:
        def work() -> None:
            try:
                rows = survey_rows()
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.ListRead(rows))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def on_survey_screen_list_read(self, message: ListRead) -> None:
        self.fill(message.rows)
        self.say(self.intro)
        self._say_how_far()

    def chosen(self, key: str) -> None:
        sort, _, name = key.partition(":")
        if sort == "report":
            self._report(int(name))
            return
        was_opening = self._opening
        super().chosen(key)
        if self._opening and not was_opening:
            self._began = monotonic()
            self._say_how_far()

    def _say_how_far(self) -> None:
        """Say what is under way and since when, a second at a time: that something moves is to be seen."""
        if self._opening:
            part = self.headway.words() if self.headway is not None else BEGINNING
            self.say(DRAWING.format(part=part, seconds=round(monotonic() - self._began)))
        elif self._began:
            self._began = 0.0
            self.say(self.intro)

    def _report(self, number: int) -> None:
        """Write a report as a page and as Markdown, and show its words."""
        self.say("writing the report …")

        def work() -> None:
            from layoutdrill.drill.survey_findings import survey_read  # noqa: PLC0415 - in the worker
            from layoutdrill.drill.survey_pictures import pictures_of  # noqa: PLC0415 - the same
            from layoutdrill.drill.survey_report import report_lines, report_title, write_report  # noqa: PLC0415
            from layoutdrill.locations import data_folder  # noqa: PLC0415 - the same

            try:
                survey = survey_read(number)
                path = data_folder() / "surveys" / f"survey-{number}.html"
                pictures = pictures_of(survey)
                write_report(survey, path.with_suffix(".md"), pictures)
                write_report(survey, path, pictures)
                words = "\n".join(report_lines(survey))
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.ReportWritten(report_title(survey), words, path))

        self.run_worker(work, thread=True, group="report", exclusive=True, exit_on_error=False)

    def on_survey_screen_report_written(self, message: ReportWritten) -> None:
        self.say(self.intro)
        place = f"Written to {message.path}, and as Markdown beside it.\n\n"
        self.go_to(TextPage(message.title, Content(place + message.words)))


def survey_rows() -> tuple[Row, ...]:
    """Return what is begun, newest first, then the chips. Slow: reads the records and the chips' files."""
    from layoutdrill.cells import load_cell  # noqa: PLC0415 - in a worker
    from layoutdrill.cells.chips import chip_names  # noqa: PLC0415 - the same
    from layoutdrill.drill.survey import surveyed_processes  # noqa: PLC0415 - the same
    from layoutdrill.drill.survey_findings import numbered_surveys, survey_read  # noqa: PLC0415 - the same
    from layoutdrill.process import load_process  # noqa: PLC0415 - the same

    rows: list[Row] = []
    for number in [*numbered_surveys()][:MOST]:
        rows += _begun_rows(survey_read(number))
    rows.append(Row("", "Begin", "a die that you have not seen"))
    for chip in chip_names():
        title = load_cell(chip).title
        rows += [
            Row(f"survey:{chip}|{process}", title, load_process(process).title) for process in surveyed_processes(chip)
        ]
    return tuple(rows)


def _begun_rows(survey: "Survey") -> Sequence[Row]:
    """Return the rows of a survey: going on, the report, and how each step went."""
    from layoutdrill.drill.survey import STEPS  # noqa: PLC0415 - in a worker

    sitting = survey.sitting
    name = sitting.title.removeprefix("Survey: ")
    rows = [Row("", name, f"survey {survey.number}, begun {sitting.started[:10]}")]
    at = len(survey.findings)
    if sitting.finished is None:
        step = next((draw.step for draw in survey.draws[at:]), "")
        rows.append(Row(f"resume:{sitting.id}", "Go on", step, f"at {at + 1} of {len(survey.draws)}"))
    if survey.findings:
        rows.append(Row(f"report:{survey.number}", "Report", "what was found, as a page with pictures"))
    for number, step in enumerate(STEPS, 1):
        asked = sum(draw.step == step for draw in survey.draws)
        found = survey.of_step(step)
        holds = sum(finding.holds for finding in found)
        state = f"{holds} of {len(found)} hold" if found else "open"
        if asked:
            rows.append(Row("", f"  {number}. {step}", state))
    return rows
