"""The command line: a thin line from words to rooms. Every command imports only what it uses."""

import argparse
import gc
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from layoutdrill import __version__
from layoutdrill.errors import LayoutdrillError, Where, plural
from layoutdrill.locations import PACKAGE
from layoutdrill.outlet import gated_streams, give_up_output

LARGEST_SCALE = 40
LARGEST_WINDOW = 1000
"""Columns or rows that a window is believed to have."""


class _Parser(argparse.ArgumentParser):
    """Say a usage error in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message}; see “{self.prog} --help”\n")


def _whole(low: int, high: int | None = None) -> Callable[[str], int]:
    def read(text: str) -> int:
        try:
            number = int(text)
        except ValueError:
            raise argparse.ArgumentTypeError(f"“{text}” is not a whole number") from None
        if number < low:
            raise argparse.ArgumentTypeError(f"{number} is too small, give {low} or more")
        if high is not None and number > high:
            raise argparse.ArgumentTypeError(f"{number} is too large, give {low} to {high}")
        return number

    return read


def _wear(text: str) -> float:
    from layoutdrill.picture.degrees import wear_named

    try:
        return wear_named(text)
    except LayoutdrillError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _fraction(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is not a number") from None
    if not 0 <= number <= 1:
        raise argparse.ArgumentTypeError(f"{text} is out of range, give 0 to 1")
    return number


def parser(only: str = "") -> argparse.ArgumentParser:
    """Build the parser; completion reads it too. Where `only` is the quiz, nothing else is built, to start fast."""
    top = _Parser(prog="layoutdrill", description="Practise reading chip layouts. With no command: the home screen.")
    top.add_argument("--version", action="version", version=f"layoutdrill {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)

    def command(name: str, text: str, run: Callable[[argparse.Namespace], int]) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text)
        sub.set_defaults(run=run)
        return sub

    drill = command("drill", "Answer the questions of a deck or lesson.", _drill)
    drill.add_argument("deck", metavar="DECK", nargs="?", help="a deck's or lesson's name, or a deck file")
    drill.add_argument("--go-on", action="store_true", help="go on with what was left last, of DECK where one is named")
    drill.add_argument("--count", type=_whole(1), metavar="N", help="how many questions")
    drill.add_argument("--seed", type=_whole(0), metavar="N", help="the same seed gives everyone the same questions")
    drill.add_argument("--kit", type=Path, metavar="PATH", help="the open cell kit: wheel or unpacked folder")
    drill.add_argument("--look", metavar="LOOK", help="how the picture is shown")
    drill.add_argument("--wear", type=_wear, metavar="W", help="how worn dies are: textbook to attic, or 0 to 1")
    drill.add_argument("--plain", action="store_true", help="plain text, answers read line by line")
    drill.add_argument("--results", type=Path, metavar="FILE", help="also write the answers as JSON lines")
    if only == "drill":
        return top

    draw = command("draw", "Draw a cell, prove the drawing, and save it.", _draw)
    draw.add_argument("cell", metavar="CELL", help="a cell or array, “y = !(a*b)”, or a SPICE file")
    draw.add_argument("--cell", dest="circuit", metavar="NAME", help="which circuit of a file that holds several")
    draw.add_argument("--process", default="silicon-gate-cmos", metavar="P")
    draw.add_argument("--seed", type=_whole(0), default=1, metavar="N")
    draw.add_argument("--difficulty", type=_fraction, default=0.3, metavar="D", help="0 tidy to 1 crowded")
    draw.add_argument("--look", metavar="LOOK")
    draw.add_argument(
        "--wear", type=_wear, default=0.0, metavar="W", help="textbook, tidy, used, worn, attic, or 0 to 1"
    )
    draw.add_argument("--stage", default="", metavar="S", help="whole, glass off, …, stained; “all”: side by side")
    draw.add_argument(
        "--section", nargs="?", const="auto", default="", metavar="Y", help="cut along y (λ), or where most lies"
    )
    draw.add_argument("--objective", default="", metavar="O", help="5x, 10x, 20x, 50x, 50x-high; else what suits")
    draw.add_argument("--aid", action="store_true", help="the tracing aid: metal darker where it lies deeper")
    draw.add_argument("--overlay", choices=("none", "devices", "nets"), default="none")
    draw.add_argument(
        "--scale",
        type=_whole(1, LARGEST_SCALE),
        default=0,
        metavar="N",
        help="pixels per λ (8; fewer for a chip)",
    )
    draw.add_argument("--kit", type=Path, metavar="PATH")
    draw.add_argument("-o", "--output", type=Path, required=True, metavar="FILE", help=".png, .svg or .gds")

    extract = command("extract", "Read a layout, or marks on a photograph, and write the netlist.", _extract)
    extract.add_argument("file", type=Path, metavar="FILE", help=".gds, .oas or .marks.yaml")
    extract.add_argument("--cell", metavar="NAME", help="which cell, or region, of the file")
    extract.add_argument("--process", metavar="P", help="default: that of the open cell kit")
    extract.add_argument("-o", "--output", type=Path, metavar="FILE.sp")

    compare = command("compare", "Compare two netlists by structure.", _compare)
    compare.add_argument("first", type=Path, metavar="A.sp")
    compare.add_argument("second", type=Path, metavar="B.sp")
    compare.add_argument("--sizes", action="store_true", help="compare L and W, ohms and farads too")
    compare.add_argument("--bodies", action="store_true", help="compare body connections too")
    compare.add_argument("--cell", metavar="NAME", help="which circuit of files that hold several")
    compare.add_argument("--as-drawn", action="store_true", help="fingers, splits and stacks in pieces count too")

    explain = command("explain", "Say what a netlist or layout is, and where it looks wrong.", _explain)
    explain.add_argument("file", type=Path, metavar="FILE")
    explain.add_argument("--process", metavar="P")
    explain.add_argument("--cell", metavar="NAME")
    explain.add_argument("--json", action="store_true")
    explain.add_argument("--depth", type=int, default=2, metavar="N", help="how many levels of the outline (2)")
    explain.add_argument("--notes", type=Path, metavar="FILE", help="the reader's notes (default: NAME.notes.yaml)")
    explain.add_argument("--begin-notes", action="store_true", help="write notes to go on from beside the netlist")
    explain.add_argument("--thorough", action="store_true", help="work out what takes more than two seconds as well")

    from layoutdrill.cli_circuit import add_commands

    add_commands(command)
    from layoutdrill.cli_author import add_commands as add_author_commands

    add_author_commands(command, _whole)
    _records(commands, command)
    _survey(commands)
    _workshop(commands)
    from layoutdrill.cli_lists import add_commands as add_list_commands

    add_list_commands(command)
    command("doctor", "Say what this terminal and installation offer.", _doctor)
    completion = command("completion", "Print a shell completion script.", _completion)
    completion.add_argument("shell", choices=("bash", "zsh", "fish"))
    return top


def _records(
    commands: "argparse._SubParsersAction[_Parser]",
    command: Callable[[str, str, Callable[[argparse.Namespace], int]], argparse.ArgumentParser],
) -> None:
    """Add what has to do with one's answers; some of it has a word of its own before it."""
    from layoutdrill.cli_records import add_commands, add_record_commands

    add_commands(command, _whole)
    add_record_commands(_under(commands, "records", "Take your records out, bring them in, prove them."))


def _under(
    commands: "argparse._SubParsersAction[_Parser]", name: str, text: str
) -> Callable[[str, str, Callable[[argparse.Namespace], int]], argparse.ArgumentParser]:
    """Return what adds commands that come after a word of their own."""
    inner = commands.add_parser(name, help=text, description=text).add_subparsers(
        dest="step", metavar="STEP", parser_class=_Parser, required=True
    )

    def add(step: str, purpose: str, run: Callable[[argparse.Namespace], int]) -> argparse.ArgumentParser:
        sub = inner.add_parser(step, help=purpose, description=purpose)
        sub.set_defaults(run=run)
        return sub

    return add


def _survey(commands: "argparse._SubParsersAction[_Parser]") -> None:
    """Add the commands for the survey of a die, which have a word of their own before them."""
    from layoutdrill.cli_survey import add_commands

    add_commands(_under(commands, "survey", "Read one die from its pads to what it does, and report it."), _whole)


def _workshop(commands: "argparse._SubParsersAction[_Parser]") -> None:
    """Add the commands for a group, which have a word of their own before them."""
    from layoutdrill.cli_workshop import add_commands

    text = "Questions for a group: prepare a set, print it, sit it, gather the results."
    add_commands(_under(commands, "workshop", text), _whole, _fraction)


def main(arguments: list[str]) -> int:
    """Run one command and return the exit code. Whatever it says goes through the gate for text."""
    _sensible_size()
    with gated_streams():
        try:
            code = _run(arguments)
            sys.stdout.flush()
        except LayoutdrillError as error:
            print(f"layoutdrill: {error}" if error.where is None else str(error), file=sys.stderr)
            try:
                sys.stdout.flush()
            except (LayoutdrillError, BrokenPipeError):
                give_up_output()
            return error.exit_code
        except BrokenPipeError:
            # The reader of a pipe has gone; say nothing more, also not at exit.
            give_up_output()
            return 0
        except KeyboardInterrupt:
            return 130
        return code


def _run(arguments: list[str]) -> int:
    if not PACKAGE.is_dir():
        raise LayoutdrillError("layoutdrill cannot run from inside an archive", todo="install it, or unpack it first")
    if not arguments:
        return _home()
    options = parser(arguments[0]).parse_args(arguments)
    run: Callable[[argparse.Namespace], int] | None = getattr(options, "run", None)
    return run(options) if run else _home()


def _sensible_size() -> None:
    """Pass over a width or height that no terminal has: lines and pictures are laid out by them."""
    for name in ("COLUMNS", "LINES"):
        given = os.environ.get(name, "")
        if given and not (given.isascii() and given.isdigit() and 1 <= int(given[:5]) <= LARGEST_WINDOW):
            del os.environ[name]


def _home() -> int:
    from layoutdrill.screens.start import need_terminal

    need_terminal()
    gc.disable()  # nothing made while starting is garbage; the app collects again once it stands
    from layoutdrill.screens.app import StartRequest, run_app

    return run_app(StartRequest())


def _drill(options: argparse.Namespace) -> int:
    if not options.plain:
        gc.disable()  # as for home
    from layoutdrill.deck.files import deck_path

    if options.deck is not None:
        deck_path(options.deck)  # a wrong name is told before a missing terminal
    elif not options.go_on:
        raise LayoutdrillError(
            "no deck or lesson is named", todo="layoutdrill decks lists them; --go-on goes on with what was left"
        )
    if not options.plain:
        from layoutdrill.screens.start import need_terminal

        need_terminal()
    from layoutdrill.drill.sitting import Sitting
    from layoutdrill.drill.unfinished import left_of

    results = None
    if options.results:
        from layoutdrill.drill.results import Results

        results = Results(options.results)  # it may be refused: before a sitting has begun
    if options.go_on:
        sitting = Sitting.resume(left_of(options.deck))
    else:
        sitting = Sitting.open_deck(
            options.deck,
            count=options.count,
            seed=options.seed,
            kit=options.kit,
            look=options.look,
        )
        sitting.worn = options.wear
    sitting.results = results
    if options.plain:
        from layoutdrill.drill.plain import sit_plainly
        from layoutdrill.screens.settings import load_settings

        sitting.sureness = load_settings()[0].sureness == "on"
        return sit_plainly(sitting, sys.stdin, sys.stdout)
    from layoutdrill.screens.app import StartRequest, run_app

    return run_app(StartRequest(sitting=sitting))


def _extract(options: argparse.Namespace) -> int:
    from layoutdrill.deck.model import KIT_PROCESS
    from layoutdrill.extract import extract
    from layoutdrill.extract.model import LOST
    from layoutdrill.layout.files import read_layout
    from layoutdrill.netlist.spice import write_spice
    from layoutdrill.photo.read import SUFFIX
    from layoutdrill.process import load_process

    if options.file.name.endswith(SUFFIX):
        return _extract_marks(options)
    process = load_process(options.process or KIT_PROCESS)
    extraction = extract(read_layout(options.file, process, cell=options.cell), process)
    _write_text(write_spice(extraction.netlist), options.output)
    for finding in extraction.findings:
        place = finding.place
        print(f"{options.file}: {finding.kind}: {finding.text} (at {place.x0},{place.y0})", file=sys.stderr)
    unread = sum(finding.kind in LOST for finding in extraction.findings)
    if unread:
        print(f"{options.file}: the netlist lacks what could not be read in {plural(unread, 'place')}", file=sys.stderr)
    return 1 if unread else 0


def _extract_marks(options: argparse.Namespace) -> int:
    from layoutdrill.netlist.spice import write_spice
    from layoutdrill.reading.photograph import photograph_at

    face = photograph_at(options.file, options.cell or "")
    _write_text(write_spice(face.netlist), options.output)
    for finding in face.extraction.findings:
        print(f"{options.file}: {finding.text} (at {face.unit.at(*finding.place.centre)})", file=sys.stderr)
    return 0


def _write_text(text: str, output: Path | None) -> None:
    if output is None:
        sys.stdout.write(text)
        return
    try:
        output.write_text(text, encoding="utf-8")
    except OSError as error:
        raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(output))) from None


def _compare(options: argparse.Namespace) -> int:
    from layoutdrill.netlist.compare import Merge, Terms, compare_files
    from layoutdrill.reading.busy import busy

    with busy(f"comparing {options.first.name} and {options.second.name}"):
        result = compare_files(
            options.first,
            options.second,
            Terms(sizes=options.sizes, bodies=options.bodies, merge=Merge.NONE if options.as_drawn else None),
            cell=options.cell,
        )
    print(result.text())
    return 0 if result.equal else 1


def _explain(options: argparse.Namespace) -> int:
    from layoutdrill.reading.busy import busy
    from layoutdrill.reading.explain import explain_file
    from layoutdrill.reading.notes import write_first_notes

    gc.disable()  # a reading of some seconds leaves no garbage worth the looking
    with busy(f"reading {options.file.name}"):
        explained = explain_file(options.file, options.process, options.cell, options.notes, thorough=options.thorough)
    if options.begin_notes:
        place = write_first_notes(options.file, explained.recognition, explained.slips)
        print(f"{place} written", file=sys.stderr)
    print(explained.json() if options.json else explained.text(max(1, options.depth)))
    return 1 if explained.slips else 0


def _draw(options: argparse.Namespace) -> int:
    from layoutdrill.deck.save import Shown, save_specimen, specimen_of

    specimen = specimen_of(
        options.cell, options.process, options.seed, options.difficulty, options.kit, options.circuit
    )
    how = Shown(
        seed=options.seed,
        look=options.look,
        wear=options.wear,
        overlay=options.overlay,
        scale=options.scale,
        stage=options.stage,
        objective=options.objective,
        aid=options.aid,
        section=options.section,
    )
    save_specimen(specimen, options.output, how)
    print(f"wrote {options.output}")
    return 0


def _doctor(_options: argparse.Namespace) -> int:
    from layoutdrill.screens.doctor import report

    print(report())
    return 0


def _completion(options: argparse.Namespace) -> int:
    from layoutdrill.completion import completion_script

    print(completion_script(options.shell, parser()))
    return 0
