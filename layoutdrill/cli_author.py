"""The words of those who write decks: check, mark, start-deck, pack, add, schema; from words to rooms."""

import argparse
import os
import sys
from collections.abc import Callable
from pathlib import Path

from layoutdrill.errors import MOST_TOLD, LayoutdrillError, Where, plural

Run = Callable[[argparse.Namespace], int]
Add = Callable[[str, str, Run], argparse.ArgumentParser]


def add_commands(add: Add, whole: Callable[[int, int | None], Callable[[str], int]]) -> None:
    """Add each command by `add(name, text, run)`."""
    check = add("check", "Check decks, and prove every item.", _check)
    check.add_argument("decks", nargs="+", metavar="DECK", help="a deck's or lesson's name, or a deck file")
    check.add_argument("--kit", type=Path, metavar="PATH")
    check.add_argument("--json", action="store_true", help="errors and warnings as JSON")
    check.add_argument("--cores", type=whole(1, 64), metavar="N", help="how many processes prove at once (all)")

    begin = add("start-deck", "Begin a deck of your own: with remarks, and nothing to mend.", _start_deck)
    begin.add_argument("file", type=Path, metavar="FILE.yaml")
    begin.add_argument("--photo", type=Path, metavar="NAME.marks.yaml", help="ask about a photograph that was marked")
    begin.add_argument(
        "--from-layouts", type=Path, metavar="DIR", help="ask about the cells of GDSII files in a folder"
    )
    begin.add_argument("--process", metavar="P", help="the process of those layouts")

    look = add("preview", "Look at a deck while you write it: read anew on each save.", _preview)
    look.add_argument("deck", metavar="DECK.yaml", help="a deck file, or the name of one that ships")

    zipped = add("pack", "Pack a deck and all that it names into one zip.", _pack)
    zipped.add_argument("deck", type=Path, metavar="DECK.yaml")
    zipped.add_argument("-o", "--output", type=Path, metavar="FILE.zip", help="default: the deck's name")

    taken = add("add", "Check a packed deck, and install it.", _add)
    taken.add_argument("file", type=Path, metavar="FILE.zip")

    add("schema", "Print the deck format as JSON Schema, for editors.", _schema)

    mark = add("mark", "Mark nets, transistors and regions on a photograph of your own.", _mark)
    mark.add_argument("photo", type=Path, metavar="PHOTO", help="a PNG, JPEG or TIFF, or its NAME.marks.yaml")
    mark.add_argument(
        "--process",
        metavar="P",
        help="the process that the die was made in, or the file of your own beside it (a new photograph needs one)",
    )
    mark.add_argument("--scale", type=whole(1, 400), default=8, metavar="N", help="pixels per λ, about (8)")
    mark.add_argument(
        "--stage",
        action="append",
        nargs=2,
        default=[],
        metavar=("PHOTO", "STAGE"),
        help="another picture of the same place, and how far it had been taken apart: “metal off”, …",
    )


def _check(options: argparse.Namespace) -> int:
    from functools import partial

    from layoutdrill.deck.check import check_deck, deck_warnings
    from layoutdrill.outlet import tell_progress

    results: list[tuple[str, str, LayoutdrillError]] = []
    cores = options.cores or os.cpu_count() or 1
    for deck in options.decks:
        progress = partial(tell_progress, f"{deck}: proved")
        errors = check_deck(deck, kit=options.kit, progress=progress, cores=cores)
        results += [(deck, "error", error) for error in errors]
        results += [(deck, "warning", warning) for warning in (() if errors else deck_warnings(deck))]
    wrong = sum(level == "error" for _, level, _ in results)
    odd = len(results) - wrong
    if options.json:
        _check_json(results)
        return 2 if wrong else 1 if odd else 0
    for deck in options.decks:
        _tell_check(deck, [(level, error) for name, level, error in results if name == deck])
    if wrong:
        print(f"{wrong} to mend", file=sys.stderr)
        return 2
    print(f"{len(options.decks)} checked, " + (f"no errors, {plural(odd, 'warning')}" if odd else "nothing to mend"))
    return 1 if odd else 0


def _tell_check(deck: str, results: list[tuple[str, LayoutdrillError]]) -> None:
    for level, error in results[:MOST_TOLD]:
        print(error if level == "error" else f"{error} (warning)")
    if len(results) > MOST_TOLD:
        print(f"{deck}: {len(results) - MOST_TOLD:,} more")


def _check_json(results: list[tuple[str, str, LayoutdrillError]]) -> None:
    import json

    rows = []
    for deck, level, error in results[: 100 * MOST_TOLD]:
        at = error.where
        place = {"file": at.file, "line": at.line, "column": at.column} if at else {}
        rows.append({"deck": deck, "level": level, **place, "what": error.what, "todo": error.todo})
    print(json.dumps(rows, indent=1, ensure_ascii=False))


def _start_deck(options: argparse.Namespace) -> int:
    from layoutdrill.deck.begin import begun_deck

    if options.file.exists():
        raise LayoutdrillError("there is such a file already", where=Where(str(options.file)), todo="name a new one")
    if options.from_layouts is not None and options.process is None:
        raise LayoutdrillError("layouts need their process", todo="add --process NAME")
    text = begun_deck(options.file, options.photo, options.from_layouts, options.process)
    try:
        options.file.write_text(text, encoding="utf-8")
    except OSError as error:
        raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(options.file))) from None
    print(f"wrote {options.file}; layoutdrill check {options.file}")
    return 0


def _preview(options: argparse.Namespace) -> int:
    from layoutdrill.deck.files import deck_path
    from layoutdrill.screens.start import need_terminal

    path = deck_path(options.deck)
    if not path.is_file():
        raise LayoutdrillError("no such file", where=Where(str(path)), todo="check the path")
    need_terminal()
    from layoutdrill.screens.app import StartRequest, run_app

    return run_app(StartRequest(preview=path))


def _pack(options: argparse.Namespace) -> int:
    from layoutdrill.deck.check import check_deck
    from layoutdrill.deck.files import load_deck
    from layoutdrill.deck.pack import pack

    deck = load_deck(options.deck)
    if not deck.licence:
        raise LayoutdrillError("no licence is given", where=Where(str(options.deck)), todo="add “licence: …” first")
    errors = check_deck(options.deck, cores=os.cpu_count() or 1)
    if errors:
        raise errors[0]
    target = options.output or options.deck.with_suffix(".zip")
    names = pack(deck, options.deck, target)
    print(f"wrote {target}: {plural(len(names), 'file')}, {target.stat().st_size / 1024:,.0f} KiB")
    return 0


def _add(options: argparse.Namespace) -> int:
    from layoutdrill.deck.pack import add

    path = add(options.file)
    print(f"installed: layoutdrill drill {path.stem}")
    return 0


def _schema(_options: argparse.Namespace) -> int:
    import json

    from layoutdrill.deck.json_schema import deck_schema

    print(json.dumps(deck_schema(), indent=1, ensure_ascii=False))
    return 0


def _mark(options: argparse.Namespace) -> int:
    from layoutdrill.outlet import tell_progress
    from layoutdrill.photo.model import Lighting, Stage
    from layoutdrill.photo.session import MarkSession, begin, marks_path, picture_of
    from layoutdrill.photo.tiles import pixels_of

    path = marks_path(options.photo)
    if not path.is_file():
        if path == options.photo:
            raise LayoutdrillError("no such file", where=Where(str(path)), todo="name a picture to begin with")
        if options.process is None:
            raise LayoutdrillError("a new photograph needs its process", todo="add --process; “layoutdrill processes”")
        from layoutdrill.photo.entries import process_of
        from layoutdrill.yamldoc import Node

        process = options.process
        if Path(process).parent.resolve() == path.parent.resolve():
            process = Path(process).name  # a file beside the photograph
        process_of(Node(process, Where(str(path))))
        begin(path, options.photo, process, options.scale)
    session = MarkSession(path)
    for name, stage in options.stage:
        if name not in {picture.file for picture in session.marks.pictures}:
            known = [*(removed.value for removed in Stage), Lighting.TRANSMITTED.value, Lighting.DARK_FIELD.value]
            if stage not in known:
                raise LayoutdrillError(f"no stage “{stage}”", todo=f"give one of {', '.join(known)}")
            lit = stage in (Lighting.TRANSMITTED.value, Lighting.DARK_FIELD.value)
            taken = Stage.WHOLE if lit else Stage(stage)
            light = Lighting(stage) if lit else Lighting.REFLECTED
            session.add(picture_of(path.parent / name, path.parent, taken, light))
    for picture in session.marks.pictures:
        pixels_of(path.parent / picture.file, lambda done, total: tell_progress("cutting into tiles:", done, total))
    from layoutdrill.screens.start import need_terminal

    need_terminal()
    from layoutdrill.screens.app import StartRequest, run_app

    return run_app(StartRequest(marking=session))
