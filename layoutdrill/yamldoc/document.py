"""
Read one YAML document into nodes that know where they stand.

Only null, true/false, decimal integers and decimal fractions are converted; everything else is text, exactly as
written, so that `NO`, `12:30`, `010` or `2026-01-01` never change their meaning. Anchors, aliases, merge keys,
tags, duplicate keys, over-deep and over-large documents are errors.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

import yaml

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean

MAX_BYTES = 2_000_000
MAX_DEPTH = 24

Scalar = str | int | float | bool | None

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]*)\Z")
_DECIMAL = re.compile(r"[-+]?(0|[1-9][0-9]*)\.[0-9]+\Z")
_MAY_REFER = re.compile(r"(?:^|[-:?\[{,])\s*[&*!]", re.MULTILINE)
"""Where an anchor, alias or tag could start. Most files have no such place, and are spared a second pass."""
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufeff\uff00-\ufffd\U00010000-\U0010ffff]")
_WORDS: dict[str, Scalar] = {"": None, "null": None, "~": None, "true": True, "false": False}


@dataclass(frozen=True, slots=True)
class Node:
    """
    A value and its place. `value` is a scalar, a tuple of nodes, or a dict from text keys to nodes.

    The methods narrow the value and raise `LayoutdrillError` with file, line and column when it is another sort.
    """

    value: "Scalar | tuple[Node, ...] | dict[str, Node]"
    where: Where
    quoted: bool = False
    key_places: "tuple[tuple[str, Where], ...]" = ()
    indent: int | None = None
    """Columns before the text of a literal block (“|”); None for every other value."""

    def fail(self, what: str, todo: str = "") -> NoReturn:
        raise LayoutdrillError(what, where=self.where, todo=todo)

    def text(self) -> str:
        if isinstance(self.value, str):
            return self.value
        if self.value is None or isinstance(self.value, (dict, tuple)):
            self.fail(f"text expected, {self.sort} found", "write one line of text, in quotes when in doubt")
        self.fail(f"text expected, {self.sort} found", f'put it in quotes: "{self.raw}"')

    @property
    def raw(self) -> str:
        if isinstance(self.value, bool):
            return "true" if self.value else "false"
        return str(self.value)

    @property
    def sort(self) -> str:
        """What this is, in words."""
        match self.value:
            case None:
                return "nothing"
            case bool():
                return "true or false"
            case int() | float():
                return "a number"
            case str():
                return "text"
            case dict():
                return "a mapping"
            case _:
                return "a list"

    def word(self, known: Sequence[str], what: str) -> str:
        """Return text that must be one of `known`; `what` names the thing in the message."""
        found = self.text()
        if found not in known:
            self.fail(f'no {what} "{found}"', did_you_mean(found, known))
        return found

    def integer(self, low: int | None = None, high: int | None = None) -> int:
        if isinstance(self.value, bool) or not isinstance(self.value, int):
            self.fail(f"whole number expected, {self.sort} found")
        if (low is not None and self.value < low) or (high is not None and self.value > high):
            bounds = f"from {low} to {high}" if high is not None else f"{low} or more"
            self.fail(f"{self.value} is out of range", f"give a whole number {bounds}")
        return self.value

    def number(self, low: float | None = None, high: float | None = None) -> float:
        if isinstance(self.value, bool) or not isinstance(self.value, (int, float)):
            self.fail(f"number expected, {self.sort} found")
        if (low is not None and self.value < low) or (high is not None and self.value > high):
            bounds = f"from {low} to {high}" if high is not None else f"{low} or more"
            self.fail(f"{self.value} is out of range", f"give a number {bounds}")
        return float(self.value)

    def boolean(self) -> bool:
        if not isinstance(self.value, bool):
            self.fail(f"true or false expected, {self.sort} found")
        return self.value

    def items(self) -> "tuple[Node, ...]":
        """Return the list's nodes; a single scalar counts as a list of one."""
        if isinstance(self.value, tuple):
            return self.value
        if isinstance(self.value, dict) or self.value is None:
            self.fail(f"a list expected, {self.sort} found", "start each entry on a line of its own with “- ”")
        return (self,)

    def mapping(self) -> "dict[str, Node]":
        if not isinstance(self.value, dict):
            self.fail(f"a mapping expected, {self.sort} found", "write “key: value” lines")
        return self.value

    def fields(self, required: Sequence[str] = (), optional: Sequence[str] = ()) -> "dict[str, Node]":
        """Return the mapping after checking that its keys are known and none that is required is missing."""
        found = self.mapping()
        known = (*required, *optional)
        for key, where in self.key_places:
            if key not in known:
                raise LayoutdrillError(f'no field "{key}" here', where=where, todo=did_you_mean(key, known))
        for key in required:
            if key not in found:
                self.fail(f'field "{key}" is missing', f'add a line "{key}: …"')
        return found

    def lines(self) -> "tuple[Node, ...]":
        """
        Return each line of text that says something as a node of its own, with its place: the lines of a block
        (“|”), the entries of a list, or one plain value. A “#” in a block starts a remark.
        """
        if isinstance(self.value, tuple):
            return tuple(line for item in self.value for line in item.lines())
        if self.indent is None:
            self.text()
            return (self,)
        found = []
        for number, written in enumerate(self.text().split("\n"), start=1):
            said = written.split("#", 1)[0].rstrip()
            if said:
                lead = len(said) - len(said.lstrip())
                where = Where(self.where.file, (self.where.line or 0) + number, self.indent + lead + 1)
                found.append(Node(said.lstrip(), where))
        return tuple(found)

    def __iter__(self) -> "Iterator[Node]":
        return iter(self.items())


@dataclass(frozen=True, slots=True)
class Document:
    """A whole file: its root node, and its name as messages show it."""

    root: Node
    file: str


def load(path: Path, *, name: str | None = None) -> Document:
    """Read a file. Errors: missing, unreadable, too large, not UTF-8, not YAML, or a refused construct."""
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
    return loads(data, shown)


def loads(data: bytes | str, file: str) -> Document:
    """Read YAML text; `file` is the name that messages show."""
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
    loader_class = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        if _MAY_REFER.search(text):
            _refuse_references(text, file, loader_class)
        root = _composed(text, loader_class)
    except yaml.MarkedYAMLError as error:
        raise _not_yaml(error, file) from None
    except RecursionError:  # only without the C library, which has a limit of its own
        raise _too_deep(Where(file)) from None
    except yaml.YAMLError as error:  # what has no mark is about a character
        raise _bad_character(text, file) or LayoutdrillError(f"not YAML: {error}", where=Where(file)) from None
    if root is None:
        raise LayoutdrillError("the file is empty", where=Where(file, 1, 1), todo="write “key: value” lines")
    return Document(_convert(root, _Source(file, text.split("\n")), 0), file)


@dataclass(frozen=True, slots=True)
class _Source:
    file: str
    lines: list[str]

    def place(self, node: yaml.Node) -> Where:
        return Where(self.file, node.start_mark.line + 1, node.start_mark.column + 1)

    def indent(self, node: yaml.ScalarNode) -> int | None:
        """Return the columns that stand before a literal block's text."""
        if node.style != "|":
            return None
        written = next((line for line in self.lines[node.start_mark.line + 1 :] if line.strip()), "")
        said = next((line for line in node.value.split("\n") if line.strip()), "")
        return (len(written) - len(written.lstrip(" "))) - (len(said) - len(said.lstrip(" ")))


def _composed(text: str, loader_class: type) -> yaml.Node | None:
    loader = loader_class(text)
    try:
        found: yaml.Node | None = loader.get_single_node()
    finally:
        loader.dispose()
    return found


def _refuse_references(text: str, file: str, loader_class: type) -> None:
    """Look at the events before anything is composed: an alias bomb must not even be built."""
    loader = loader_class(text)
    try:
        while loader.check_event():
            event = loader.get_event()
            where = Where(file, event.start_mark.line + 1, event.start_mark.column + 1) if event.start_mark else None
            if isinstance(event, yaml.AliasEvent):
                raise LayoutdrillError(
                    "an alias (“*name”) is not allowed", where=where, todo="write the value out, or quote the text"
                )
            if getattr(event, "anchor", None):
                raise LayoutdrillError(
                    f"an anchor (“&{event.anchor}”) is not allowed",
                    where=where,
                    todo="remove it, or put the text in quotes",
                )
            if getattr(event, "tag", None):
                raise LayoutdrillError(
                    "a tag (“!name”) is not allowed", where=where, todo="put text that starts with “!” in quotes"
                )
    finally:
        loader.dispose()


def _bad_character(text: str, file: str) -> LayoutdrillError | None:
    """Find the character that YAML refuses: a control character, or half of a pair."""
    found = _UNPRINTABLE.search(text)
    if found is None:
        return None
    line = text.count("\n", 0, found.start()) + 1
    column = found.start() - (text.rfind("\n", 0, found.start()) + 1) + 1
    what = f"a character that no text has (0x{ord(found.group()):02x})"
    return LayoutdrillError(what, where=Where(file, line, column), todo="remove it")


def _too_deep(where: Where) -> LayoutdrillError:
    return LayoutdrillError(f"nested deeper than {MAX_DEPTH} levels", where=where, todo="flatten it")


def _not_yaml(error: yaml.MarkedYAMLError, file: str) -> LayoutdrillError:
    mark = error.problem_mark or error.context_mark
    where = Where(file, mark.line + 1, mark.column + 1) if mark else Where(file)
    problem = error.problem or error.context or "unreadable"
    if "another document" in problem:
        todo = "keep one in a file, and remove the line “---”"
        return LayoutdrillError("a second document starts here", where=where, todo=todo)
    if "nesting depth" in problem:
        return _too_deep(where)
    todo = "check indentation and colons; quote text that starts with @ ! & * % ` or holds “: ” or “ #”"
    return LayoutdrillError(f"not YAML: {problem}", where=where, todo=todo)


def _convert(node: yaml.Node, source: _Source, depth: int) -> Node:
    where = source.place(node)
    if depth > MAX_DEPTH:
        raise _too_deep(where)
    if isinstance(node, yaml.ScalarNode):
        quoted = bool(node.style)
        return Node(node.value if quoted else _scalar(node.value), where, quoted, indent=source.indent(node))
    if isinstance(node, yaml.SequenceNode):
        return Node(tuple(_convert(child, source, depth + 1) for child in node.value), where)
    assert isinstance(node, yaml.MappingNode)
    found: dict[str, Node] = {}
    places: list[tuple[str, Where]] = []
    for key_node, value_node in node.value:
        key_where = source.place(key_node)
        if not isinstance(key_node, yaml.ScalarNode):
            raise LayoutdrillError("a key must be one word of text", where=key_where, todo="write “key: value”")
        key = key_node.value
        if key == "<<" and not key_node.style:
            raise LayoutdrillError("a merge key (“<<”) is not allowed", where=key_where, todo="write the fields out")
        if key in found:
            first = dict(places)[key]
            raise LayoutdrillError(
                f'"{key}" is given twice', where=key_where, todo=f"the first is on line {first.line}; remove one"
            )
        places.append((key, key_where))
        found[key] = _convert(value_node, source, depth + 1)
    return Node(found, where, key_places=tuple(places))


def _scalar(text: str) -> Scalar:
    if text in _WORDS:
        return _WORDS[text]
    if _INTEGER.match(text) and len(text) < 20:
        return int(text)
    if _DECIMAL.match(text):
        return float(text)
    return text
