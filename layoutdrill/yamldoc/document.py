"""
Read one YAML document into nodes that know where they stand.

Only null, true/false, decimal integers and decimal fractions are converted; everything else is text, exactly as
written, so that `NO`, `12:30`, `010` or `2026-01-01` never change their meaning. Anchors, aliases, merge keys,
tags, duplicate keys, over-deep and over-large documents are errors.
"""

from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.intake import decoded, read_bytes
from layoutdrill.value import value
from layoutdrill.yamldoc.kept import keep, kept, may_keep
from layoutdrill.yamldoc.node import Node


@value
class Bounds:
    """How much of a document is read: its bytes, and its nodes (every key and every value is one)."""

    bytes: int
    nodes: int


WRITTEN_BY_HAND = Bounds(2_000_000, 50_000)
"""Decks, processes, cells: what people write."""
MACHINE_WRITTEN = Bounds(20_000_000, 500_000)


@value
class Document:
    """A whole file: its root node, and its name as messages show it."""

    root: Node
    file: str


def load(path: Path, *, name: str | None = None, bounds: Bounds = WRITTEN_BY_HAND) -> Document:
    """
    Read a file. Errors: missing, unreadable, too large, not UTF-8, not YAML, or a refused construct.

    What has been read of a file that ships is kept in the cache folder, so that the next start need not read it again.
    """
    shown = name or str(path)
    data = read_bytes(path, bounds.bytes, name=shown, todo="name a YAML file")
    keeps = may_keep(path)
    root = kept(path, data, shown) if keeps else None
    if root is None:
        root = loads(data, shown, bounds=bounds).root
        if keeps:
            keep(path, data, root)
    return Document(root, shown)


def loads(data: bytes | str, file: str, *, bounds: Bounds = WRITTEN_BY_HAND) -> Document:
    """Read YAML text; `file` is the name that messages show."""
    from layoutdrill.yamldoc.parse import parse  # noqa: PLC0415 - what is kept is read without the YAML library

    raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    if len(raw) > bounds.bytes:
        raise LayoutdrillError(
            f"larger than {bounds.bytes:,} bytes", where=Where(file), todo="split it into several files"
        )
    return Document(parse(decoded(raw, file), file, bounds.nodes), file)
