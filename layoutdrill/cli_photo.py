"""The words of `layoutdrill mark`, from words to rooms."""

import argparse
from collections.abc import Callable
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where

Run = Callable[[argparse.Namespace], int]
Add = Callable[[str, str, Run], argparse.ArgumentParser]


def add_commands(add: Add, whole: Callable[[int, int | None], Callable[[str], int]]) -> None:
    """Add each command by `add(name, text, run)`."""
    mark = add("mark", "Mark nets, transistors and regions on a photograph of your own.", _mark)
    mark.add_argument("photo", type=Path, metavar="PHOTO", help="a PNG, JPEG or TIFF, or its NAME.marks.yaml")
    mark.add_argument("--process", metavar="P", help="the process that the die was made in (a new photograph needs it)")
    mark.add_argument("--scale", type=whole(1, 400), default=8, metavar="N", help="pixels per λ, about (8)")
    mark.add_argument(
        "--stage",
        action="append",
        nargs=2,
        default=[],
        metavar=("PHOTO", "STAGE"),
        help="another picture of the same place, and how far it had been taken apart: “metal off”, …",
    )


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
        from layoutdrill.process import load_process

        load_process(options.process)
        begin(path, options.photo, options.process, options.scale)
    session = MarkSession(path)
    for name, stage in options.stage:
        if name not in {picture.file for picture in session.marks.pictures}:
            known = [*(one.value for one in Stage), Lighting.TRANSMITTED.value, Lighting.DARK_FIELD.value]
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
