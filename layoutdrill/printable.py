r"""
Escape what a terminal must not be sent: the one gate through which all text leaves, whoever wrote it.

Control characters can move the cursor, change a window's title or write to a clipboard; characters that turn the
direction of writing, or take no room, make a name look like another. They are shown as JSON would write them
(`\u001b`), so that JSON stays JSON when it passes here. General categories: the Unicode standard, chapter 4.
"""

import re

_REFUSED = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\ufffb\ud800-\udfff\U000e0000-\U000e0fff]"
)
"""Control characters but for tab and line ends, bidirectional controls, what has no width, halves of pairs."""
_HARMLESS = frozenset("\u00ad\u200c\u200d\u00a0\u1680\u202f\u205f\u3000" + "".join(map(chr, range(0x2000, 0x200B))))
"""Spaces, soft hyphens, and the joiners that some scripts are written with."""
LINES = "\n\t"


def printable(text: str, keep: str = LINES) -> str:
    """Return the text with everything escaped that cannot be printed, but for the characters to `keep`."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() or c in keep or c in _HARMLESS else escaped(c) for c in text)


def in_one_line(text: str) -> str:
    """Return a name as it can stand within a line: line ends and tabs are escaped too."""
    return printable(text, keep="")


def escaped(character: str) -> str:
    """Write a character as JSON does, those beyond the first plane as a pair."""
    number = ord(character)
    if number < 0x10000:
        return f"\\u{number:04x}"
    high, low = divmod(number - 0x10000, 0x400)
    return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"


def unprintable_at(text: str) -> int | None:
    """Return where the first character stands that no document may hold, or None."""
    match = _REFUSED.search(text)
    return match.start() if match else None


def told_character(character: str) -> str:
    """Name a character that is refused."""
    return f"a character that cannot be printed ({escaped(character)})"


def stripped(text: str) -> str:
    """Return text without what cannot be printed: for a last resort, where an escape would not fit."""
    return text if text.isprintable() else "".join(c for c in text if c.isprintable() or c in _HARMLESS)


_STAND_INS = {
    "“": '"', "”": '"', "‘": "'", "’": "'", "–": "-", "—": "-", "…": "...", "×": "x", "·": ".", "µ": "u", "μ": "u",
    "λ": "lambda", "→": "->", "←": "<-", "↑": "^", "↓": "v", "≤": "<=", "≥": ">=", "°": " degrees", "²": "^2", "¬": "!",
    "⊕": "^", "Ω": "ohm", "•": "*", "█": "#", "▒": "+", "░": ".",
}  # fmt: skip


def in_encoding(text: str, encoding: str) -> str:
    """Return the text with a stand-in for every letter that an encoding lacks."""
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return "".join(_stand_in(c, encoding) for c in text)
    except LookupError:
        return text.encode("ascii", "replace").decode()
    return text


def _stand_in(character: str, encoding: str) -> str:
    try:
        character.encode(encoding)
    except UnicodeEncodeError:
        return _STAND_INS.get(character, "?")
    return character
