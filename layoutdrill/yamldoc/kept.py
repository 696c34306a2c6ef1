"""
Keep what was read of the YAML files that ship, one small JSON file each: in the wheel, made when it was built, or in
the cache folder, made at the first reading.

An entry holds for the very bytes of its file and for the reader as it is now; any other, or one that is damaged, is
passed over and the file read anew. A folder that cannot be written costs time and nothing else. Values become nodes
when they are looked at.
"""

import json
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from pathlib import Path
from typing import Any

from layoutdrill.errors import Where
from layoutdrill.locations import PACKAGE, cache_folder, shipped
from layoutdrill.outlet import write_whole
from layoutdrill.yamldoc.node import Node

LIST, MAPPING = "list", "mapping"


def may_keep(path: Path) -> bool:
    """Tell whether a file ships with the package; what an author is writing changes too often."""
    return any(folder in path.parents for folder in (PACKAGE, shipped("decks"), shipped("art")))


def kept(path: Path, data: bytes, file: str) -> Node | None:
    """Return the root node kept for these bytes, None where there is none; `file` is the name that messages show."""
    for place in (built_folder() / built_name(path, data), _place(path)):
        try:
            head, _, body = place.read_bytes().partition(b"\n")
        except OSError:
            continue
        if head == _head(data, body):
            return KeptNode(json.loads(body), file)
    return None


def keep(path: Path, data: bytes, root: Node) -> None:
    """Write an entry, whole or not at all; another start may be doing the same."""
    place = _place(path)
    with suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        write_whole(place, entry(data, root), again=True)


def entry(data: bytes, root: Node) -> bytes:
    """Return the entry of a file's bytes and what was read of them."""
    body = json.dumps(_plain(root), separators=(",", ":")).encode()
    return _head(data, body) + b"\n" + body


def built_folder() -> Path:
    """Return the folder of the entries that came with the wheel; a checkout has none."""
    return PACKAGE / "_shipped" / "kept"


def built_name(path: Path, data: bytes) -> str:
    """Return the name of a wheel's entry: by the bytes it is of, wherever their file lies."""
    return f"{path.stem}-{blake2b(data, digest_size=8).hexdigest()}.json"


def _place(path: Path) -> Path:
    named = blake2b(str(path).encode(), digest_size=8).hexdigest()
    return cache_folder() / "yaml" / f"{path.stem}-{named}.json"


def _head(data: bytes, body: bytes) -> bytes:
    """Return the line that must stand before `body` for it to be what the file's bytes say."""
    summed = blake2b(_reader(), digest_size=16)
    summed.update(data)
    return (summed.hexdigest() + blake2b(body, digest_size=16).hexdigest()).encode()


@cache
def _reader() -> bytes:
    """Tell this version of the reader from every other, wherever it is installed."""
    summed = blake2b(digest_size=16)
    for name in ("parse.py", "kept.py"):
        with suppress(OSError):
            summed.update(Path(__file__).with_name(name).read_bytes().replace(b"\r\n", b"\n"))
    return summed.digest()


def _plain(node: Node) -> list[Any]:
    """Write a node as [sort or quoted, line, column, value, indent]."""
    line, column = node.where.line, node.where.column
    if isinstance(node.value, tuple):
        return [LIST, line, column, [_plain(child) for child in node.value], None]
    if isinstance(node.value, dict):
        places = [(where.line, where.column) for _, where in node.key_places]
        rows = [(key, *place, _plain(node.value[key])) for (key, _), place in zip(node.key_places, places, strict=True)]
        return [MAPPING, line, column, rows, None]
    return [node.quoted, line, column, node.value, node.indent]


class KeptNode(Node):
    """A node whose fields are filled in from what was kept, each when it is first asked for."""

    __slots__ = ("_file", "_plain")

    def __init__(self, plain: list[Any], file: str) -> None:
        object.__setattr__(self, "_plain", plain)
        object.__setattr__(self, "_file", file)

    def __getattr__(self, name: str) -> Any:
        """Fill in a field; Python comes here for one that has no value yet."""
        file, (sort, line, column, content, indent) = self._file, self._plain
        filled: Any
        match name:
            case "value" if sort == LIST:
                filled = tuple(KeptNode(child, file) for child in content)
            case "value" if sort == MAPPING:
                filled = {key: KeptNode(child, file) for key, _, _, child in content}
            case "value":
                filled = content
            case "where":
                filled = Where(file, line, column)
            case "quoted":
                filled = sort is True
            case "key_places":
                rows = content if sort == MAPPING else ()
                filled = tuple((key, Where(file, at, across)) for key, at, across, _ in rows)
            case "indent":
                filled = indent
            case _:
                raise AttributeError(name)
        object.__setattr__(self, name, filled)
        return filled
