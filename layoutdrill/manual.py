"""
Write the manual page `layoutdrill.1` from the parser: every command and option is there because it is in the parser.

Format: man(7), the macros TH, SH, SS, TP, B, I (groff's manual page of that name, from memory).
"""

import argparse
import re
import sys
from collections.abc import Iterator
from pathlib import Path

FILES = (
    ("$LAYOUTDRILL_HOME", "Where records and settings are kept, instead of the platform's places."),
    ("$LAYOUTDRILL_CACHE", "Where what can be made again is kept."),
    ("$LAYOUTDRILL_KIT", "The open cell kit: a wheel or an unpacked folder."),
)
CODES = (
    ("0", "Done; nothing is wrong."),
    ("1", "Done, and something differs or looks wrong: netlists are not equal, slips, what could not be read."),
    ("2", "Bad input: what, where and what to do are told in one line."),
    ("70", "A fault of layoutdrill itself."),
)


def manual_page(top: argparse.ArgumentParser, version: str) -> str:
    """Return the page."""
    lines = [f'.TH LAYOUTDRILL 1 "" "layoutdrill {version}" "User commands"', ".SH NAME"]
    lines += ["layoutdrill \\- practise reading chip layouts", ".SH SYNOPSIS", ".B layoutdrill"]
    lines += [".RI [ COMMAND ...]", ".SH DESCRIPTION", _plain(top.description or "")]
    lines += [".SH COMMANDS"]
    for name, parser in _commands(top):
        lines += [f".SS {_plain(name)}", _plain(parser.description or "")]
        for action in parser._actions:  # noqa: SLF001 - argparse tells its actions in no other way
            if not isinstance(action, argparse._HelpAction | argparse._SubParsersAction):  # noqa: SLF001
                lines += [".TP", _spelt(action), _plain(_help(action)) or "\\&"]
    for title, rows in (("EXIT STATUS", CODES), ("ENVIRONMENT", FILES)):
        lines.append(f".SH {title}")
        for term, words in rows:
            lines += [".TP", f".B {_plain(term)}", _plain(words)]
    return "\n".join(lines) + "\n"


def _commands(parser: argparse.ArgumentParser, before: str = "") -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """Yield every command that does something, those within a group by both words."""
    for action in parser._actions:  # noqa: SLF001
        if isinstance(action, argparse._SubParsersAction):  # noqa: SLF001
            for name, inner in action.choices.items():
                nested = list(_commands(inner, f"{before}{name} "))
                yield from nested or [(before + name, inner)]


def _spelt(action: argparse.Action) -> str:
    shown = action.metavar or (f"{{{','.join(map(str, action.choices))}}}" if action.choices else action.dest.upper())
    if not action.option_strings:
        return f".I {_plain(str(shown))}"
    names = ", ".join(action.option_strings)
    return f".B {_plain(names)}" if action.nargs == 0 else f'.BR "{_plain(names)}" " \\fI{_plain(str(shown))}\\fR"'


def _help(action: argparse.Action) -> str:
    default = f" (default: {action.default})" if action.default not in (None, False, argparse.SUPPRESS, []) else ""
    return (action.help or "") + default if action.help is not argparse.SUPPRESS else ""


def _plain(text: str) -> str:
    """Escape what roff would take for itself, and write quotes and letters that old terminals lack as its own."""
    text = re.sub(r"\s+", " ", text).strip().replace("\\", "\\e").replace("-", "\\-")
    for letter, name in (("“", "\\(lq"), ("”", "\\(rq"), ("λ", "\\(*l"), ("×", "\\(mu"), ("…", "..."), ("–", "\\(en")):
        text = text.replace(letter, name)
    return f"\\&{text}" if text[:1] in (".", "'") else text


def main() -> None:
    """Write the page that the wheel carries: python -m layoutdrill.manual art/layoutdrill.1."""
    from layoutdrill import __version__  # noqa: PLC0415 - the page of the parser as it is
    from layoutdrill.cli import parser  # noqa: PLC0415 - only when the manual is written

    Path(sys.argv[1]).write_text(manual_page(parser(), __version__), encoding="utf-8")


if __name__ == "__main__":
    main()
