"""Completion, asked of the shells themselves: what they make of the script is the check."""

import os
import pty
import select
import shutil
import subprocess
import time

import pytest

from layoutdrill.cli import parser
from layoutdrill.completion import SHELLS, commands_of, completion_script
from layoutdrill.errors import LayoutdrillError

ASKED = {
    "layoutdrill dri": "drill",
    "layoutdrill drill --pl": "--plain",
    "layoutdrill completion z": "zsh",
    "layoutdrill draw --overlay d": "devices",
    "layoutdrill drill first": "first-gates",
    "layoutdrill drill first-gates --look in": "ink",
    "layoutdrill explain ./only": "./only.sp",
    "layoutdrill drill ./mine": "./mine.yaml",
    "layoutdrill --ver": "--version",
}
"""A line as far as it was typed, and the one word that may end it."""


def there(shell):
    return pytest.mark.skipif(shutil.which(shell) is None, reason=f"{shell} is not installed, so it cannot be asked")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    (tmp_path / "only.sp").write_text("")
    (tmp_path / "mine.yaml").write_text("")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("shell", SHELLS)
def test_completion_knows_every_command_and_option(shell):
    """The words are the parser's own."""
    script = completion_script(shell, parser())
    for command in commands_of(parser()):
        assert command.name in script
        for word in command.words:
            for name in word.names:
                assert (name.lstrip("-") if shell == "fish" else name) in script


@there("bash")
def test_bash_ends_each_line_with_the_one_word_that_fits(folder):
    """Asked of bash's own machinery, with the script loaded."""
    ask = 'COMP_WORDS=({words}); COMP_CWORD={at}; _layoutdrill; echo "${{COMPREPLY[@]}}"'
    lines = [ask.format(words=words, at=len(words.split()) - 1) for words in ASKED]
    script = "\n".join([completion_script("bash", parser()), *lines])
    done = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == list(ASKED.values())
    assert done.stderr == ""


@there("fish")
def test_fish_ends_each_line_with_the_one_word_that_fits(folder):
    """Asked by fish's own `complete -C`, with the script loaded."""
    script = "\n".join([completion_script("fish", parser()), *(f"complete -C '{line}'; echo ---" for line in ASKED)])
    done = subprocess.run(["fish", "--no-config", "-c", script], capture_output=True, text=True, check=True)
    offered = [part.split("\n") for part in done.stdout.split("---\n")[:-1]]
    assert [[line.split("\t")[0] for line in lines if line] for lines in offered] == [[word] for word in ASKED.values()]
    assert done.stderr == ""


@there("zsh")
def test_zsh_ends_each_line_with_the_one_word_that_fits(folder):
    """Typed into zsh in a terminal, with a tab at the end: what then stands on its line."""
    (folder / "_layoutdrill").write_text(completion_script("zsh", parser()))
    found = typed_into_zsh(folder, ASKED)
    assert found == [line[: line.rindex(" ") + 1] + word for line, word in ASKED.items()]


def typed_into_zsh(folder, lines):
    child, terminal = pty.fork()
    if not child:
        os.environ.update(TERM="dumb", ZDOTDIR=str(folder), LANG="C.UTF-8")
        os.execvp("zsh", ["zsh", "-f", "-i"])

    def until(mark):
        got, end = b"", time.monotonic() + 20
        while mark not in got and time.monotonic() < end:
            if select.select([terminal], [], [], 0.1)[0]:
                got += os.read(terminal, 1 << 16)
        return got.decode(errors="replace")

    try:
        os.write(
            terminal,
            f"PS1=; fpath=({folder} $fpath); autoload -Uz compinit && compinit -u -D; "
            'tell() { print -r -- "<<$BUFFER>>"; BUFFER=; zle accept-line }; zle -N tell; bindkey "^X" tell; '
            "unsetopt auto_list; print re''ady\n".encode(),
        )
        until(b"ready")
        found = []
        for line in lines:
            os.write(terminal, line.encode() + b"\t\x18")
            found.append(until(b">>").rpartition("<<")[2].partition(">>")[0].rstrip())
        return found
    finally:
        os.kill(child, 9)
        os.waitpid(child, 0)
        os.close(terminal)


def test_an_unknown_shell_is_refused():
    """With the known ones named."""
    with pytest.raises(LayoutdrillError, match="bash"):
        completion_script("tcsh", parser())
