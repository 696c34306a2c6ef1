"""Cut SPICE text into logical lines of words, each of which knows where it stands in the file."""

import re
from collections.abc import Iterator

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.printable import told_character, unprintable_at
from layoutdrill.value import value

_WORD = re.compile(r"[^\s=(),]+")
_NAMED = re.compile(r"'[\w.]+'|\"[\w.]+\"|\{[\w.]+\}")  # a value by its name, or a number, as an expression
_COMMENT = re.compile(r"(?:^|\s)\$.*|;.*")


@value
class Line:
    """One statement, its continuation lines joined on: `words` in order, then `values`, the `key=value` pairs."""

    file: str
    pieces: tuple[tuple[int, str], ...]  # (line number, text without comments)
    words: tuple[str, ...]
    values: tuple[tuple[str, str], ...]  # keys in lower case

    def value(self, key: str) -> str | None:
        """Return the last value given for a lower-case key."""
        return next((v for k, v in reversed(self.values) if k == key), None)

    def where(self, word: str | None = None) -> Where:
        """Return the place of the first `word` that reads so (of the statement, when None or not found)."""
        for number, text in self.pieces:
            for match in _WORD.finditer(text):
                if word is None or match[0] == word:
                    return Where(self.file, number, match.start() + 1)
        return Where(self.file, self.pieces[0][0], 1)

    def error(self, what: str, todo: str, word: str | None = None) -> LayoutdrillError:
        return LayoutdrillError(what, where=self.where(word), todo=todo)


def logical_lines(text: str, file: str) -> Iterator[Line]:
    """
    Yield the statements: comments (`*` lines, `$` and `;` to the end of a line) gone, `+` lines joined on.

    Raises LayoutdrillError for a continuation of nothing, an expression where a number belongs, a stray `=`, or
    a character that cannot be printed.
    """
    pieces: list[tuple[int, str]] = []
    for number, raw in enumerate(_printable(text, file).splitlines(), 1):
        bare = raw.lstrip("\ufeff")
        if "$" in bare or ";" in bare:
            bare = _COMMENT.sub("", bare)
        start = bare.lstrip()
        if not start or start[0] == "*":
            continue
        if start[0] == "+":
            if not pieces:
                raise LayoutdrillError(
                    '"+" continues a line, but none stands before it',
                    where=Where(file, number, bare.index("+") + 1),
                    todo="put it after the statement that it belongs to",
                )
            pieces.append((number, bare.replace("+", " ", 1)))
            continue
        if pieces:
            yield _line(file, tuple(pieces))
        pieces = [(number, bare)]
    if pieces:
        yield _line(file, tuple(pieces))


def _printable(text: str, file: str) -> str:
    """Take out form feeds and the mark that old systems end a text with; refuse what else cannot be printed."""
    text = text.removeprefix("\ufeff").rstrip("\x1a").replace("\f", " ")
    at = unprintable_at(text)
    if at is not None:
        where = Where(file, text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at))
        raise LayoutdrillError(told_character(text[at]), where=where, todo="remove it")
    return text


def _line(file: str, pieces: tuple[tuple[int, str], ...]) -> Line:
    joined = pieces[0][1] if len(pieces) == 1 else " ".join(text for _, text in pieces)
    bare = _NAMED.sub("", joined)
    for quote in "'\"{":
        if quote in bare and not joined.lstrip().startswith("."):
            raise _at(file, pieces, quote, "an expression stands here", "write the number itself, such as W=0.65u")
    if "(" in joined or "," in joined:
        joined = joined.replace("(", " ").replace(")", " ").replace(",", " ")
    if "=" not in joined:
        return Line(file, pieces, tuple(joined.split()), ())
    parts = joined.replace("=", " = ").split()
    words: list[str] = []
    values: list[tuple[str, str]] = []
    at = 0
    while at < len(parts):
        if at + 1 < len(parts) and parts[at + 1] == "=" and parts[at] != "=":
            if at + 2 >= len(parts) or parts[at + 2] == "=":
                raise _at(file, pieces, "=", f'nothing after "{parts[at]}="', "write a number there, such as W=0.65u")
            values.append((parts[at].lower(), parts[at + 2]))
            at += 3
        elif parts[at] == "=":
            raise _at(file, pieces, "=", 'nothing before "="', "write name=number, such as W=0.65u")
        else:
            words.append(parts[at])
            at += 1
    return Line(file, pieces, tuple(words), tuple(values))


def _at(file: str, pieces: tuple[tuple[int, str], ...], mark: str, what: str, todo: str) -> LayoutdrillError:
    for number, text in pieces:
        if mark in text:
            return LayoutdrillError(what, where=Where(file, number, text.index(mark) + 1), todo=todo)
    return LayoutdrillError(what, where=Where(file, pieces[0][0], 1), todo=todo)
