"""Parse YAML text into nodes, and refuse what is ambiguous or dangerous."""

import re

import yaml

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.printable import told_character, unprintable_at
from layoutdrill.value import value
from layoutdrill.yamldoc.node import Node, Scalar

MAX_DEPTH = 24
MAX_NODES = 50_000
_LONGEST_NUMBER = 40

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]*)\Z")
_DECIMAL = re.compile(r"[-+]?(0|[1-9][0-9]*)\.[0-9]+\Z")
_MAY_REFER = re.compile(r"(?:^|[-:?\[{,])\s*[&*!]", re.MULTILINE)
"""Where an anchor, alias or tag could start. Most files have no such place, and are spared a second pass."""
_WORDS: dict[str, Scalar] = {"": None, "null": None, "~": None, "true": True, "false": False}


def parse(text: str, file: str, most: int = MAX_NODES) -> Node:
    """Return the root of at most `most` nodes; raises LayoutdrillError with the place of what is wrong or refused."""
    _refuse_characters(text, file)
    loader_class = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        if len(text) >= 2 * most or _MAY_REFER.search(text):  # a node takes a character, and one beside it
            _look_through(text, file, loader_class, most)
        root = _composed(text, loader_class)
    except yaml.MarkedYAMLError as error:
        raise _not_yaml(error, file) from None
    except RecursionError:  # only without the C library, which has a limit of its own
        raise _too_deep(Where(file)) from None
    except yaml.YAMLError as error:
        raise LayoutdrillError(f"not YAML: {error}", where=Where(file)) from None
    if root is None:
        raise LayoutdrillError("the file is empty", where=Where(file, 1, 1), todo="write “key: value” lines")
    return _convert(root, _Source(file, text.split("\n")), 0)


@value
class _Source:
    file: str
    lines: list[str]

    def place(self, node: yaml.Node) -> Where:
        return Where(self.file, node.start_mark.line + 1, node.start_mark.column + 1)

    def indent(self, node: yaml.ScalarNode) -> int | None:
        """Return the columns that stand before a literal block's text."""
        if node.style != "|":
            return None
        after = range(node.start_mark.line + 1, len(self.lines))
        written = next((self.lines[i] for i in after if self.lines[i].strip()), "")
        said = next((line for line in node.value.split("\n") if line.strip()), "")
        return (len(written) - len(written.lstrip(" "))) - (len(said) - len(said.lstrip(" ")))


def _composed(text: str, loader_class: type) -> yaml.Node | None:
    loader = loader_class(text)
    try:
        root: yaml.Node | None = loader.get_single_node()
    finally:
        loader.dispose()
    return root


def _look_through(text: str, file: str, loader_class: type, most: int) -> None:
    """Look at the events before anything is composed: a bomb of aliases, levels or nodes must not even be built."""
    loader = loader_class(text)
    nodes = depth = 0
    try:
        while loader.check_event():
            event = loader.get_event()
            where = Where(file, event.start_mark.line + 1, event.start_mark.column + 1) if event.start_mark else None
            if isinstance(event, yaml.CollectionEndEvent):
                depth -= 1
                continue
            if isinstance(event, yaml.NodeEvent):
                nodes += 1
                depth += isinstance(event, yaml.CollectionStartEvent)
            if nodes > most:
                what = f"more than {most:,} keys and values"
                raise LayoutdrillError(what, where=where, todo="split it into several files")
            if depth > MAX_DEPTH + 1 and where is not None:
                raise _too_deep(where)
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


def _refuse_characters(text: str, file: str) -> None:
    """Refuse what cannot be printed, where it stands."""
    at = unprintable_at(text)
    if at is not None:
        where = Where(file, text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at))
        raise LayoutdrillError(told_character(text[at]), where=where, todo="remove it")


def _refuse_escapes(value: str, where: Where) -> None:
    """Refuse in quoted text what its escapes have put there; a carriage return too, which hides a line."""
    at = unprintable_at(value.replace("\r", "\0"))
    if at is not None:
        raise LayoutdrillError(f"this text holds {told_character(value[at])}", where=where, todo="take the escape out")


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
        if node.style == '"':
            _refuse_escapes(node.value, where)
        return Node(node.value if quoted else _scalar(node.value), where, quoted, indent=source.indent(node))
    if isinstance(node, yaml.SequenceNode):
        return Node(tuple(_convert(child, source, depth + 1) for child in node.value), where)
    assert isinstance(node, yaml.MappingNode)
    entries: dict[str, Node] = {}
    places: list[tuple[str, Where]] = []
    for key_node, value_node in node.value:
        key_where = source.place(key_node)
        if not isinstance(key_node, yaml.ScalarNode):
            raise LayoutdrillError("a key must be one word of text", where=key_where, todo="write “key: value”")
        key = key_node.value
        if key_node.style == '"':
            _refuse_escapes(key, key_where)
        if key == "<<" and not key_node.style:
            raise LayoutdrillError("a merge key (“<<”) is not allowed", where=key_where, todo="write the fields out")
        if key in entries:
            first = dict(places)[key]
            raise LayoutdrillError(
                f'"{key}" is given twice', where=key_where, todo=f"the first is on line {first.line}; remove one"
            )
        places.append((key, key_where))
        entries[key] = _convert(value_node, source, depth + 1)
    return Node(entries, where, key_places=tuple(places))


def _scalar(text: str) -> Scalar:
    if text in _WORDS:
        return _WORDS[text]
    if _INTEGER.match(text) and len(text) < 20:
        return int(text)
    if len(text) < _LONGEST_NUMBER and _DECIMAL.match(text):
        return float(text)
    return text
