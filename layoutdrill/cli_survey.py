"""The words of `layoutdrill survey …`: one die, read from its pads to what it does, and the report of it."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from layoutdrill.drill.sitting import Sitting

Run = Callable[[argparse.Namespace], int]
Add = Callable[[str, str, Run], argparse.ArgumentParser]
Read = Callable[..., Callable[[str], object]]


def add_commands(add: Add, whole: Read) -> None:
    """Add the commands that come after `survey`."""
    begin = add("begin", "Read a chip from scratch: pads, plan, one slice, the rest, controls, a log.", _begin)
    begin.add_argument("chip", metavar="CHIP", help="such as message_buffer; “layoutdrill survey list” names all")
    begin.add_argument("--process", default="", metavar="P", help="in which it was made; any that fits, if not said")
    begin.add_argument("--seed", type=whole(0), metavar="N", help="the same seed gives everyone the same die")
    begin.add_argument("--look", metavar="LOOK", help="how the picture is shown")
    on = add("go-on", "Go on with a survey where it was left.", _go_on)
    on.add_argument("number", nargs="?", type=whole(1), metavar="N", help="which; the newest that is left, if not said")
    for sub in (begin, on):
        sub.add_argument("--plain", action="store_true", help="plain text, answers read line by line")
    report = add("report", "Write what was found, from your own answers.", _report)
    report.add_argument("number", nargs="?", type=whole(1), metavar="N", help="which survey; the newest, if not said")
    report.add_argument("-o", "--output", type=Path, required=True, metavar="FILE", help=".html, or .md with pictures")
    add("list", "List the chips that can be surveyed, and the surveys that were begun.", _list)


def _begin(options: argparse.Namespace) -> int:
    from layoutdrill.drill.survey import surveyed_processes

    surveyed_processes(options.chip)  # a wrong name is told before a missing terminal
    _need_terminal(options)
    from layoutdrill.drill.sitting import Sitting

    return _sit(Sitting.open_survey(options.chip, options.process, seed=options.seed, look=options.look), options)


def _go_on(options: argparse.Namespace) -> int:
    from layoutdrill.drill.survey_findings import survey_to_go_on

    number = survey_to_go_on(options.number)
    _need_terminal(options)
    from layoutdrill.drill.sitting import Sitting

    return _sit(Sitting.resume(number), options)


def _need_terminal(options: argparse.Namespace) -> None:
    if not options.plain:
        from layoutdrill.screens.start import need_terminal

        need_terminal()


def _sit(sitting: "Sitting", options: argparse.Namespace) -> int:
    if options.plain:
        from layoutdrill.drill.plain import sit_plainly
        from layoutdrill.screens.settings import load_settings

        sitting.sureness = load_settings()[0].sureness == "on"
        return sit_plainly(sitting, sys.stdin, sys.stdout)
    from layoutdrill.screens.app import StartRequest, run_app

    return run_app(StartRequest(sitting=sitting))


def _report(options: argparse.Namespace) -> int:
    from layoutdrill.drill.survey_findings import survey_read
    from layoutdrill.drill.survey_report import write_report

    for path in write_report(survey_read(options.number), options.output):
        print(f"wrote {path}")
    return 0


def _list(_options: argparse.Namespace) -> int:
    from layoutdrill.cells import load_cell
    from layoutdrill.cells.chips import chip_names
    from layoutdrill.drill.survey import surveyed_processes
    from layoutdrill.drill.survey_findings import numbered_surveys

    print("Chips:")
    for name in chip_names():
        print(f"  {name}: {load_cell(name).title}, in {', '.join(surveyed_processes(name))}")
    for number, sitting in numbered_surveys().items():
        state = "done" if sitting.finished else f"question {sitting.answered + 1} of {sitting.total}"
        print(f"Survey {number}, begun {sitting.started[:10]}: {sitting.title.removeprefix('Survey: ')}; {state}")
    return 0
