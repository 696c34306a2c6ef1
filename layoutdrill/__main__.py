"""Start the command line; `--version` answers before anything heavy is imported."""

import sys


def run() -> None:
    if sys.argv[1:] == ["--version"]:
        from layoutdrill import __version__

        sys.stdout.write(f"layoutdrill {__version__}\n")
        return
    from layoutdrill.cli import main

    sys.exit(main(sys.argv[1:]))


if __name__ == "__main__":
    run()
