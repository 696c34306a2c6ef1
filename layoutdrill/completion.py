"""Write shell completion scripts, their words taken from the command line's own parser."""

import argparse
from pathlib import Path

from layoutdrill.cells import cell_names
from layoutdrill.cells.arrays import array_names
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.locations import shipped
from layoutdrill.process import process_names
from layoutdrill.value import value

SHELLS = ("bash", "zsh", "fish")


@value
class Word:
    """An option or argument: its spellings (none for an argument), what it takes, its help."""

    names: tuple[str, ...]
    choices: tuple[str, ...]
    takes_file: bool
    takes_value: bool
    help: str

    @property
    def or_file(self) -> bool:
        """Tell whether a file will do as well as one of the choices, as it does for a deck."""
        return not self.names and "deck" in self.help


@value
class Command:
    """A command with its words."""

    name: str
    help: str
    words: tuple[Word, ...]


def commands_of(parser: argparse.ArgumentParser) -> tuple[Command, ...]:
    """Return the commands of a parser, in its order."""
    for action in parser._actions:  # noqa: SLF001 - argparse has no public way to ask
        if isinstance(action, argparse._SubParsersAction):  # noqa: SLF001
            helps = {choice.dest: choice.help or "" for choice in action._choices_actions}  # noqa: SLF001
            return tuple(Command(name, helps.get(name, ""), tuple(_words(sub))) for name, sub in action.choices.items())
    return ()


def _words(parser: argparse.ArgumentParser) -> list[Word]:
    return [
        Word(
            names=tuple(action.option_strings),
            choices=tuple(str(choice) for choice in action.choices or _known(action)),
            takes_file=action.type is Path,
            takes_value=action.nargs != 0,
            help=(action.help or "").replace("%%", "%"),
        )
        for action in parser._actions  # noqa: SLF001
    ]


def _known(action: argparse.Action) -> tuple[str, ...]:
    """Return the names that an option or argument is about: decks, looks, processes, cells of the library."""
    dest = action.dest
    if dest == "process":
        return process_names()
    if dest == "cell" and not action.option_strings:
        return (*cell_names(), *array_names())
    folders = {"deck": "decks", "decks": "decks", "look": "art/looks"}
    if dest in folders:
        room, _, sub = folders[dest].partition("/")
        return tuple(sorted(path.stem for path in (shipped(room) / sub).rglob("*.yaml")))
    return ()


def completion_script(shell: str, parser: argparse.ArgumentParser) -> str:
    """Return a parser's script for bash, zsh or fish; how to install it stands in its first lines."""
    commands = commands_of(parser)
    if shell == "bash":
        return _bash(commands)
    if shell == "zsh":
        return _zsh(commands)
    if shell == "fish":
        return _fish(commands)
    raise LayoutdrillError(f'no completion for the shell "{shell}"', todo=did_you_mean(shell, SHELLS))


def _bash(commands: tuple[Command, ...]) -> str:
    names = " ".join(c.name for c in commands)
    lines = [
        "# layoutdrill completion for bash. Install:",
        "#   layoutdrill completion bash > ~/.local/share/bash-completion/completions/layoutdrill",
        "_layoutdrill() {",
        '    local word="${COMP_WORDS[COMP_CWORD]}" before="${COMP_WORDS[COMP_CWORD-1]}" name="${COMP_WORDS[1]}"',
        "    COMPREPLY=()",
        "    if (( COMP_CWORD == 1 )); then",
        f'        mapfile -t COMPREPLY < <(compgen -W "{names} --version --help" -- "$word")',
        "        return",
        "    fi",
        '    case "$name" in',
    ]
    for command in commands:
        lines.append(f"        {command.name})")
        lines.append('            case "$before" in')
        lines += [
            f"                {'|'.join(word.names)}) {_bash_values(word)} return ;;"
            for word in command.words
            if word.names and word.takes_value
        ]
        lines.append("            esac")
        options = " ".join(name for word in command.words for name in word.names)
        lines.append('            if [[ "$word" == -* ]]; then')
        lines.append(f'                mapfile -t COMPREPLY < <(compgen -W "{options}" -- "$word")')
        lines.append("                return")
        lines.append("            fi")
        arguments = [word for word in command.words if not word.names]
        lines += [f"            {_bash_values(word)}" for word in arguments[:1]]
        lines.append("            ;;")
    lines += ["    esac", "}", "complete -o filenames -F _layoutdrill layoutdrill", ""]
    return "\n".join(lines)


def _bash_values(word: Word) -> str:
    if word.choices:
        extra = " -f" if word.or_file else ""
        return f'mapfile -t COMPREPLY < <(compgen -W "{" ".join(word.choices)}"{extra} -- "$word");'
    if word.takes_file or not word.names:
        return 'mapfile -t COMPREPLY < <(compgen -f -- "$word");'
    return ":;"


def _quoted(text: str) -> str:
    return text.replace("'", "’").replace("[", "(").replace("]", ")").replace(":", " -")


def _zsh(commands: tuple[Command, ...]) -> str:
    lines = [
        "#compdef layoutdrill",
        "# layoutdrill completion for zsh. Install into a folder of $fpath:",
        "#   layoutdrill completion zsh > ~/.zfunc/_layoutdrill",
        "_layoutdrill() {",
        "    local -a commands",
        "    commands=(",
        *[f"        '{c.name}:{_quoted(c.help)}'" for c in commands],
        "    )",
        "    if (( CURRENT == 2 )); then",
        '        if [[ "$words[2]" == -* ]]; then compadd -- --version --help; return; fi',
        "        _describe command commands",
        "        return",
        "    fi",
        '    case "$words[2]" in',
    ]
    for command in commands:
        specs = [spec for word in command.words for spec in _zsh_specs(word)]
        lines.append(f"        {command.name})")
        lines.append("            shift words; (( CURRENT-- ))")
        lines.append("            _arguments " + " ".join(specs))
        lines.append("            ;;")
    lines += ["    esac", "}", '_layoutdrill "$@"', ""]
    return "\n".join(lines)


def _zsh_specs(word: Word) -> list[str]:
    if word.choices and word.or_file:
        values = f'{{compadd -- {" ".join(word.choices)}; _files -g "*.y(a|)ml"}}'
    elif word.choices:
        values = f"({' '.join(word.choices)})"
    elif word.takes_file or not word.names:
        values = "_files"
    else:
        values = " "
    text = _quoted(word.help)
    if not word.names:
        return [f"'*:{text or 'argument'}:{values}'"]
    tail = f":value:{values}" if word.takes_value else ""
    return [f"'{name}[{text}]{tail}'" for name in word.names]


def _fish(commands: tuple[Command, ...]) -> str:
    lines = [
        "# layoutdrill completion for fish. Install:",
        "#   layoutdrill completion fish > ~/.config/fish/completions/layoutdrill.fish",
        "complete -c layoutdrill -f",
        "complete -c layoutdrill -n __fish_use_subcommand -l version -d 'Print the version'",
        "complete -c layoutdrill -l help -d 'Explain the command and its options'",
    ]
    for command in commands:
        about = _fish_quoted(command.help)
        lines.append(f"complete -c layoutdrill -n __fish_use_subcommand -a {command.name} -d '{about}'")
        when = f"-n '__fish_seen_subcommand_from {command.name}'"
        for word in command.words:
            parts = [f"complete -c layoutdrill {when}"]
            parts += [f"-l {name[2:]}" if name.startswith("--") else f"-s {name[1:]}" for name in word.names]
            if word.choices:
                how = "-x " if word.names else "-F " if word.or_file else ""
                parts.append(f"{how}-a '{' '.join(word.choices)}'")
            elif word.takes_file or not word.names:
                parts.append("-r -F" if word.names else "-F")
            elif word.takes_value:
                parts.append("-x")
            if word.help:
                parts.append(f"-d '{_fish_quoted(word.help)}'")
            lines.append(" ".join(parts))
    return "\n".join([*lines, ""])


def _fish_quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace("'", "\\'")
