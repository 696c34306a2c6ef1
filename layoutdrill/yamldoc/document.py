"""
Read one YAML document into nodes that know where they stand.

Only null, true/false, decimal integers and decimal fractions are converted; everything else is text, exactly as
written, so that `NO`, `12:30`, `010` or `2026-01-01` never change their meaning. Anchors, aliases, merge keys,
tags, duplicate keys, over-deep and over-large documents are errors.
"""

from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.value import value
from layoutdrill.yamldoc.kept import keep, kept, may_keep
from layoutdrill.yamldoc.node import Node

MAX_BYTES = 2_000_000


@value
class Document:
    """A whole file: its root node, and its name as messages show it."""

    root: Node
    file: str


def load(path: Path, *, name: str | None = None) -> Document:
    """
    Read a file. Errors: missing, unreadable, too large, not UTF-8, not YAML, or a refused construct.

    What has been read of a file that ships is kept in the cache folder, so that the next start need not read it again.
    """
    shown = name or str(path)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise LayoutdrillError("no such file", where=Where(shown), todo="check the path") from None
    except IsADirectoryError:
        raise LayoutdrillError("this is a folder", where=Where(shown), todo="name a YAML file") from None
    except OSError as error:
        raise LayoutdrillError(f"cannot be read ({error.strerror})", where=Where(shown)) from None
    except ValueError:  # a null character
        raise LayoutdrillError(f"no file can have the name {shown!r}", todo="check the path") from None
    keeps = may_keep(path)
    found = kept(path, data, shown) if keeps else None
    if found is None:
        found = loads(data, shown).root
        if keeps:
            keep(path, data, found)
    return Document(found, shown)


def loads(data: bytes | str, file: str) -> Document:
    """Read YAML text; `file` is the name that messages show."""
    from layoutdrill.yamldoc.parse import parse  # noqa: PLC0415 - what is kept is read without the YAML library

    raw = data.encode() if isinstance(data, str) else data
    if len(raw) > MAX_BYTES:
        raise LayoutdrillError(
            f"larger than {MAX_BYTES:,} bytes", where=Where(file), todo="split it into several files"
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise LayoutdrillError("not UTF-8 text", where=Where(file, line), todo="save the file as UTF-8") from None
    return Document(parse(text, file), file)
