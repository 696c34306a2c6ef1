"""Write marks: one line each, which the reader reads back; and append them to a file, each on disk before the next."""

import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.photo.entries import FIRST_WORD, FORMAT
from layoutdrill.photo.model import (
    SORTS,
    At,
    Contact,
    JoinPoint,
    Lighting,
    Mark,
    MarkedTransistor,
    Marks,
    Picture,
    Point,
    Port,
    Region,
    Repeat,
    Stage,
    Wire,
)
from layoutdrill.process.terms import Mode

HEAD = f"# Written by “layoutdrill mark”; only the tool writes this file.\n- {FIRST_WORD}: {FORMAT}\n"


def flow(given: Any) -> str:
    """Write plain values in the flow style of YAML, text in quotes, numbers as short as they can be."""
    if isinstance(given, Mapping):
        return "{" + ", ".join(f"{key}: {flow(item)}" for key, item in given.items()) + "}"
    if isinstance(given, (tuple, list)):
        return "[" + ", ".join(flow(item) for item in given) + "]"
    if isinstance(given, bool):
        return "true" if given else "false"
    if isinstance(given, int):
        return str(given)
    if isinstance(given, float):
        return f"{round(given, 2) + 0.0:.2f}".rstrip("0").rstrip(".")  # no minus before nothing
    return json.dumps(str(given), ensure_ascii=False)


def _at(place: At) -> list[float]:
    return [float(place[0]), float(place[1])]


def entry(mark: Mark) -> str:
    """Return a mark's line, without its end."""
    word, said = _plain(mark)
    return setting(word, {key: item for key, item in said.items() if item not in ("", [], 0.0)})


def _plain(mark: Mark) -> tuple[str, dict[str, Any]]:
    """Return a mark's word and fields; "" or an empty list for what is left out."""
    match mark:
        case Picture():
            stage = mark.stage.value if mark.stage is not Stage.WHOLE else ""
            light = mark.light.value if mark.light is not Lighting.REFLECTED else ""
            size = list(mark.size) if mark.size != (0, 0) else ""
            return "picture", {"file": mark.file, "stage": stage, "light": light, "size": size, "sha256": mark.sha256}
        case JoinPoint():
            return "join", {"picture": mark.picture, "at": _at(mark.at), "on": _at(mark.on)}
        case Wire():
            places = [_at(place) for place in mark.at]
            return "wire", {"net": mark.net, "layer": mark.layer.value, "width": mark.width, "at": places}
        case Point():
            return "point", {"net": mark.net, "layer": mark.layer.value, "at": _at(mark.at)}
        case Contact():
            joins = [mark.upper.value, mark.lower.value]
            return "contact", {"net": mark.net, "joins": joins, "size": mark.size, "at": _at(mark.at)}
        case MarkedTransistor():
            return "transistor", {
                "name": mark.name,
                "kind": mark.kind.value,
                "mode": mark.mode.value if mark.mode is not Mode.ENHANCEMENT else "",
                "gate": mark.gate,
                "ends": list(mark.ends),
                "channel": list(mark.channel) if mark.channel != (0.0, 0.0) else "",
                "at": [_at(place) for place in mark.at],
            }
        case Port():
            other = mark.complement_of
            return "port", {"net": mark.net, "role": mark.role.value, "complement of": other, "at": _at(mark.at)}
        case Region():
            return "region", {
                "name": mark.name,
                "title": mark.title,
                "structure": mark.structure,
                "aliases": list(mark.aliases),
                "boundary": mark.boundary,
                "look for": mark.about,
                "complete": sorted(mark.complete),
                "netlist": mark.netlist,
                "outline": [_at(place) for place in mark.outline],
            }
        case Repeat():
            return "repeat", {
                "region": mark.region,
                "columns": mark.columns,
                "rows": mark.rows,
                "right": _at(mark.right) if mark.columns > 1 else "",
                "down": _at(mark.down) if mark.rows > 1 else "",
                "shared": list(mark.shared),
                "along rows": list(mark.by_row),
                "along columns": list(mark.by_column),
            }


def setting(word: str, said: Any) -> str:
    """Return the line of any entry from plain values."""
    return f"- {word}: {flow(said)}"


def marks_text(marks: Marks) -> str:
    """Return all marks as one canonical text, what was taken back left out; `marks_of_text` reads it."""
    scale: dict[str, Any] = {"pixels per lambda": marks.per_lambda}
    if marks.nm:
        scale["nm per pixel"] = marks.nm
    lines = [f"- {FIRST_WORD}: {FORMAT}", setting("name", marks.name), setting("process", marks.process)]
    lines.append(setting("scale", scale))
    if marks.turn or marks.mirror:
        lines.append(setting("shown", {"turn": 90 * marks.turn, "mirror": marks.mirror}))
    if marks.shows:
        lines.append(setting("shows", list(marks.shows)))
    lines += [entry(mark) for field in SORTS.values() for mark in getattr(marks, field)]
    return "\n".join(lines) + "\n"


def append(path: Path, lines: Iterable[str]) -> None:
    """Add entries to a mark file, begun where it is not there; all is on disk when this returns."""
    try:
        with path.open("a", encoding="utf-8") as file:
            if file.tell() == 0:
                file.write(HEAD)
            file.writelines(f"{line}\n" for line in lines)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise LayoutdrillError(
            f"marks cannot be written ({error.strerror or error})",
            where=Where(str(path)),
            todo="free the disk, or copy the folder to where you may write",
        ) from None


def without_cut_line(path: Path) -> bool:
    """Drop a last line that was being written when the power went; tell whether there was one."""
    data = path.read_bytes() if path.is_file() else b""
    if not data or data.endswith(b"\n"):
        return False
    path.write_bytes(data[: data.rfind(b"\n") + 1])
    return True
