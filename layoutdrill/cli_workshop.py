"""The words of `layoutdrill workshop …`, from words to rooms. Each command imports only what it uses."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where, plural

MOST_MINUTES = 600
MOST_SEATS = 60

Run = Callable[[argparse.Namespace], int]
Add = Callable[[str, str, Run], argparse.ArgumentParser]
Read = Callable[..., Callable[[str], object]]


def add_commands(add: Add, whole: Read, fraction: Callable[[str], float]) -> None:
    """Add each command by `add(name, text, run)`; `whole(low, high)` reads a whole number, `fraction` 0 to 1."""
    ready = add("prepare", "Fix the questions of a set.", _prepare)
    ready.add_argument("deck", metavar="DECK", help="a deck's or lesson's name, or a deck file")
    ready.add_argument("--count", type=whole(1, 200), default=12, metavar="N", help="how many questions")
    ready.add_argument("--minutes", type=whole(0, MOST_MINUTES), default=0, metavar="M", help="time; 0 for none")
    ready.add_argument("--seed", type=whole(0), default=1, metavar="S")
    ready.add_argument("--difficulty", type=fraction, metavar="D", help="0 tidy to 1 crowded, instead of the deck's")
    ready.add_argument("--wear", type=fraction, default=0.0, metavar="W", help="0 clean to 1 battered")
    ready.add_argument("--look", default="", metavar="LOOK")
    ready.add_argument("--feedback", choices=("now", "end"), default="now", help="when learners see what was right")
    ready.add_argument("--kit", type=Path, metavar="PATH", help="the open cell kit: wheel or unpacked folder")
    ready.add_argument("-o", "--output", type=Path, required=True, metavar="SET")

    paper = add("handout", "Print a set as a PDF, and its key as another.", _handout)
    _set(paper)
    paper.add_argument("--paper", choices=("a4", "letter"), default="a4")
    paper.add_argument("--look", default="ink", metavar="LOOK", help="ink, or a photographic look for pictures of dies")
    paper.add_argument("--with-key", type=Path, metavar="KEY.pdf", help="write the key with its answers there")
    paper.add_argument("-o", "--output", type=Path, required=True, metavar="FILE.pdf")

    sit = add("sit", "Answer a set at this terminal.", _sit)
    sit.add_argument("set", type=Path, metavar="SET")
    sit.add_argument("--as", dest="name", required=True, metavar="NAME", help="whose answers these are")
    sit.add_argument("--plain", action="store_true", help="plain text, answers read line by line")
    sit.add_argument(
        "-o", "--output", type=Path, metavar="FOLDER", help="where the result goes; beside the set if none"
    )

    serve = add("serve", "Let learners without a terminal sit a set in their browsers.", _serve)
    serve.add_argument("set", type=Path, metavar="SET")
    serve.add_argument("--seats", type=whole(1, MOST_SEATS), metavar="N", help="so many seats, named by number")
    serve.add_argument("--names", type=Path, metavar="FILE", help="a seat for each line of a file")
    serve.add_argument(
        "--host", default="127.0.0.1", metavar="H", help="where to listen; this machine only, if not told"
    )
    serve.add_argument("--port", type=whole(1, 65535), default=8042, metavar="P")
    serve.add_argument("--address", default="", metavar="URL", help="how browsers reach it, as http://bench.local:8042")
    serve.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="where results go; beside the set if none")

    show = add("show", "Show a question to the whole room, and reveal it step by step.", _show)
    _set(show)
    show.add_argument("--question", type=whole(1), default=1, metavar="N", help="which question of the set")

    count = add("tally", "Gather results: scores, skills, confusions, what to discuss.", _tally)
    _set(count)
    count.add_argument("results", type=Path, nargs="+", metavar="RESULT", help="result files, or folders of them")
    count.add_argument("-o", "--output", type=Path, metavar="FILE", help=".csv, .json or .html as well")


def _set(command: argparse.ArgumentParser) -> None:
    command.add_argument("set", type=Path, metavar="SET")
    command.add_argument("--key", type=Path, metavar="FILE.key", help="the key, where it is kept apart from the set")


def _prepare(options: argparse.Namespace) -> int:
    from functools import partial

    from layoutdrill.face.again import is_photograph
    from layoutdrill.outlet import tell_progress
    from layoutdrill.workshop.documents import write_set
    from layoutdrill.workshop.model import Feedback
    from layoutdrill.workshop.prepare import Wanted, prepare

    left_out: list[str] = []
    made = prepare(
        options.deck,
        Wanted(
            options.count,
            options.minutes,
            options.seed,
            Feedback(options.feedback),
            options.difficulty,
            options.wear,
            options.look,
        ),
        kit=options.kit,
        progress=partial(tell_progress, "drawing and proving"),
        left_out=left_out.append,
    )
    apart = write_set(options.output, made)
    skills = len({entry.skill for entry in made.key})
    of = f"{plural(len(made.sheets), 'question')} over {plural(skills, 'skill')}"
    pictured = sum(is_photograph(sheet.layout) for sheet in made.sheets)
    of += f", {pictured} on photographs" if pictured else ""
    print(f"wrote {options.output}: {of}, set {made.digest[:8]}")
    for line in left_out:
        print(line)
    if apart is not None:
        print(f"wrote {apart}: the key; keep it until the end")
    return 0


def _handout(options: argparse.Namespace) -> int:
    from layoutdrill.workshop.documents import read_set
    from layoutdrill.workshop.handout import write_handout, write_key

    made = read_set(options.set, options.key)
    pages = write_handout(made, options.output, size=options.paper, look=options.look)
    print(f"wrote {options.output}: {plural(pages, 'page')}")
    if options.with_key is not None:
        pages = write_key(made, options.with_key, size=options.paper)
        print(f"wrote {options.with_key}: {plural(pages, 'page')}")
    return 0


def _sit(options: argparse.Namespace) -> int:
    from layoutdrill.workshop.documents import read_set
    from layoutdrill.workshop.sit import SetSitting, checked_name, result_file

    if not options.plain:
        from layoutdrill.screens.start import need_terminal

        need_terminal()
    made = read_set(options.set)
    path = result_file(options.set, checked_name(options.name), options.output)
    sitting = SetSitting.open(made, path, options.name)
    if options.plain:
        from layoutdrill.drill.plain import run_plain
        from layoutdrill.screens.settings import load_settings

        sitting.sureness = load_settings()[0].sureness == "on"
        code = run_plain(sitting, sys.stdin, sys.stdout)
    else:
        from layoutdrill.screens.app import StartRequest, run_app

        code = run_app(StartRequest(sitting=sitting))
    print(f"{sitting.title}: {sitting.answered} of {sitting.total} answered; give {path} to the leader")
    return code


def _show(options: argparse.Namespace) -> int:
    from layoutdrill.screens.start import need_terminal
    from layoutdrill.workshop.documents import read_set

    made = read_set(options.set, options.key)
    if not made.key:
        raise LayoutdrillError("the key of this set is kept apart", todo="add --key FILE.key")
    if options.question > len(made.sheets):
        raise LayoutdrillError(f"the set has {plural(len(made.sheets), 'question')}", todo="choose one of them")
    need_terminal()
    from layoutdrill.screens.app import StartRequest, run_app

    return run_app(StartRequest(shown=made, number=options.question))


def _serve(options: argparse.Namespace) -> int:
    from layoutdrill.workshop.documents import read_set
    from layoutdrill.workshop.sit import checked_name

    made = read_set(options.set)
    if (options.seats is None) == (options.names is None):
        raise LayoutdrillError("it takes either --seats or --names", todo="say --seats 12, or --names FILE")
    names = [f"seat {n}" for n in range(1, options.seats + 1)] if options.seats else _names(options.names)
    names = [checked_name(name) for name in names]
    if len({name.casefold() for name in names}) != len(names) or not 1 <= len(names) <= MOST_SEATS:
        raise LayoutdrillError(f"1 to {MOST_SEATS} different names are wanted", where=Where(str(options.names or "")))
    if options.host not in ("127.0.0.1", "localhost", "::1") and not options.address:
        raise LayoutdrillError(
            "browsers elsewhere need an address to come to", todo="add --address http://NAME-OF-THIS-MACHINE:PORT"
        )
    try:
        from layoutdrill.served.open_house import open_house
    except ImportError:
        raise LayoutdrillError(
            "serving needs textual-serve, which is not installed", todo="pip install 'layoutdrill[serve]'"
        ) from None
    results = options.output or options.set.resolve().parent
    open_house(
        made.title, options.set.resolve(), results.resolve(), names, (options.host, options.port), options.address
    )
    return 0


def _names(path: Path) -> list[str]:
    try:
        return [line.strip() for line in path.read_text("utf-8").splitlines() if line.strip()]
    except (OSError, UnicodeDecodeError):
        raise LayoutdrillError("cannot be read as text", where=Where(str(path)), todo="one name a line") from None


def _tally(options: argparse.Namespace) -> int:
    from layoutdrill.workshop.documents import read_set
    from layoutdrill.workshop.tally import summary_lines, tally
    from layoutdrill.workshop.tally_page import tally_csv, tally_html, tally_json

    made = read_set(options.set, options.key)
    room = tally(made, _files(options.results))
    print("\n".join(summary_lines(room)))
    if options.output is not None:
        ending = options.output.suffix.lower()
        forms = {
            ".csv": lambda: tally_csv(room),
            ".json": lambda: tally_json(room),
            ".html": lambda: tally_html(room, made),
        }
        if ending not in forms:
            raise LayoutdrillError(
                f'cannot write a "{ending}" file',
                where=Where(str(options.output)),
                todo="end the name in .csv, .json, .html",
            )
        try:
            options.output.write_text(forms[ending](), "utf-8")
        except OSError as error:
            raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(options.output))) from None
        print(f"wrote {options.output}")
    return 1 if room.refused else 0


def _files(given: list[Path]) -> list[Path]:
    """Return files, with those of folders that end in .result."""
    return [file for path in given for file in (sorted(path.glob("*.result")) if path.is_dir() else [path])]
