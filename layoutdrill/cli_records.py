"""The words of `layoutdrill today`, `progress` and `records …`. Each command imports only what it uses."""

import argparse
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from layoutdrill.errors import LayoutdrillError, Where, plural

if TYPE_CHECKING:
    from layoutdrill.drill.records import Records
    from layoutdrill.drill.today import Wish
    from layoutdrill.screens.settings import Settings

Run = Callable[[argparse.Namespace], int]
Add = Callable[[str, str, Run], argparse.ArgumentParser]
Read = Callable[..., Callable[[str], object]]


def add_commands(add: Add, whole: Read) -> None:
    """Add `today` and `progress` by `add(name, text, run)`."""
    today = add("today", "Practise what helps most just now.", _today)
    today.add_argument("--minutes", type=whole(1, 120), metavar="M", help="how long; ten questions if not said")
    today.add_argument("--count", type=whole(1, 60), metavar="N", help="how many questions")
    today.add_argument("--seed", type=whole(0), metavar="N")
    today.add_argument("--look", metavar="LOOK", help="how the picture is shown")
    today.add_argument("--plain", action="store_true", help="plain text, answers read line by line")
    today.add_argument("--glance", action="store_true", help="a rapid series instead, on what is mastered")
    today.add_argument(
        "--check", action="store_true", help="what is kept for checking instead: no help, no verdicts, never practised"
    )
    today.add_argument("--tell", action="store_true", help="only say what it would be")

    progress = add("progress", "Say what has been learned, and what to do next.", _progress)
    progress.add_argument("--json", action="store_true")
    progress.add_argument("-o", "--output", type=Path, metavar="FILE.html", help="also write it as a page to keep")


def add_record_commands(add: Add) -> None:
    """Add the commands that come after `records`."""
    out = add("export", "Write all records to a file.", _export)
    out.add_argument("--format", choices=("json", "csv"), default="json")
    out.add_argument("-o", "--output", type=Path, metavar="FILE", help="standard output if not said")
    into = add("import", "Add what an export holds and the records do not.", _import)
    into.add_argument("file", type=Path, metavar="FILE.json")
    add("prove", "Grade every stored answer, work out the schedule, and draw every drawing anew.", _prove)


def _today(options: argparse.Namespace) -> int:
    from layoutdrill.locations import records_file
    from layoutdrill.screens.settings import load_settings

    settings, _ = load_settings()
    if options.tell:
        _tell_today(options, settings)
        return 0
    if options.glance and not settings.timed:
        raise LayoutdrillError("time limits are switched off", todo="switch them on in the settings, or leave --glance")
    if options.plain and not records_file().exists():
        print("Nothing has been answered yet: the lessons explain what is asked here; layoutdrill alone shows them.")
    if not options.plain:
        from layoutdrill.screens.start import need_terminal

        need_terminal()
    from layoutdrill.drill.sitting import Sitting

    if options.check:
        from layoutdrill.drill.checking import deck_to_check

        deck = deck_to_check(datetime.now(UTC))
        sitting = Sitting.open_deck(deck, count=options.count, seed=options.seed, look=options.look)
    elif options.glance:
        sitting = Sitting.open_glances(seed=options.seed, look=options.look)
    else:
        sitting = Sitting.open_today(_wish(options, settings), seed=options.seed, look=options.look)
    if options.plain:
        from layoutdrill.drill.plain import sit_plainly

        sitting.sureness = settings.sureness == "on"
        return sit_plainly(sitting, sys.stdin, sys.stdout)
    from layoutdrill.screens.app import StartRequest, run_app

    return run_app(StartRequest(sitting=sitting))


def _wish(options: argparse.Namespace, settings: "Settings") -> "Wish":
    from layoutdrill.drill.today import Wish

    return Wish(options.count, options.minutes, settings.timed, options.plain, settings.resting)


def _tell_today(options: argparse.Namespace, settings: "Settings") -> None:
    from layoutdrill.drill.checking import turns
    from layoutdrill.drill.today import plan_today, reasons

    now, seed = datetime.now(UTC), options.seed or 0
    if options.glance:
        from layoutdrill.drill.glances import must_have, plan_series

        print(f"at a glance: {must_have(plan_series(now, seed=seed)).words}")
        return
    day = plan_today(now, _wish(options, settings), seed=seed)
    print(day.line)
    for words in reasons(day.trials):
        print(f"  {words}")
    if day.survey:
        print(f"to survey: {day.survey}; layoutdrill survey list")
    for turn in turns(now, ended=day.ended):
        print(f"to check: {turn.title}, {turn.why}")


def _progress(options: argparse.Namespace) -> int:
    from layoutdrill.drill.history import lesson_titles
    from layoutdrill.drill.learned import progress_now
    from layoutdrill.drill.progress_page import progress_html, progress_json, progress_lines
    from layoutdrill.screens.settings import load_settings

    settings, _ = load_settings()
    progress = progress_now(datetime.now(UTC), timed=settings.timed)
    if options.json:
        sys.stdout.write(progress_json(progress))
    else:
        print("\n".join(progress_lines(progress, lesson_titles())))
    if options.output is not None:
        _write(progress_html(progress, lesson_titles()), options.output)
    return 0


def _export(options: argparse.Namespace) -> int:
    from layoutdrill.drill.archive import export_csv, export_json

    records = _records()
    try:
        text = export_csv(records) if options.format == "csv" else export_json(records)
    finally:
        records.close()
    if options.output is None:
        sys.stdout.write(text)
    else:
        _write(text, options.output)
        print(f"wrote {options.output}")
    return 0


def _import(options: argparse.Namespace) -> int:
    from layoutdrill.drill.archive import bring_in

    records = _records()
    try:
        brought = bring_in(records, options.file)
    finally:
        records.close()
    added = f"{plural(brought.sittings, 'sitting')} and {plural(brought.answers, 'answer')} added"
    print(f"{added}; {plural(brought.known, 'answer')} there already")
    return 0


def _prove(_options: argparse.Namespace) -> int:
    from functools import partial

    from layoutdrill.drill.archive import prove
    from layoutdrill.drill.replay import redraw, replayed
    from layoutdrill.outlet import tell_progress

    records = _records()
    try:
        proof = prove(records, partial(tell_progress, "graded"))
        skills = replayed(records, datetime.now(UTC))
        drawn = redraw(records, partial(tell_progress, "sittings drawn"))
    finally:
        records.close()
    for fault in (*proof.faults, *drawn.faults):
        print(fault)
    print(f"{proof.same} of {plural(proof.answers, 'answer')} graded as before")
    scheduled = (
        "the schedule comes out otherwise" if skills is None else f"{plural(skills, 'skill')} scheduled as before"
    )
    print(f"{scheduled}, from the answers alone")
    other = f"; {drawn.other_version} of another version not compared" if drawn.other_version else ""
    print(f"{drawn.same} of {plural(drawn.same + len(drawn.faults), 'drawing')} drawn as before{other}")
    return 1 if proof.faults or drawn.faults or skills is None else 0


def _records() -> "Records":
    from layoutdrill.drill.records import Records
    from layoutdrill.locations import records_file

    return Records(records_file())


def _write(text: str, output: Path) -> None:
    try:
        output.write_text(text, "utf-8")
    except OSError as error:
        raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(output))) from None
