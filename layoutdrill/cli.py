"""The command line: a thin line from words to rooms."""


def main(arguments: list[str]) -> int:
    """Run one command and return the exit code."""
    raise NotImplementedError(arguments)
