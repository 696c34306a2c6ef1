"""Measure what the long lists cost when they are first opened (CPU ms, each in an interpreter of its own)."""

import subprocess
import sys

LISTS = (
    ("cells of the library, before it can be seen", "layoutdrill.screens.library", "cell_rows()"),
    ("library whole, in a worker", "layoutdrill.screens.library", "library_rows()"),
    ("all that the finder lists, in a worker", "layoutdrill.screens.finder", "place_rows()"),
    ("words with their pages, in a worker", "layoutdrill.screens.glossary", "word_rows(places=True)"),
)


def once(module, call):
    """Return the CPU ms of a call in a fresh interpreter, imports left out."""
    program = (
        f"import importlib, time; module = importlib.import_module({module!r}); begun = time.process_time();"
        f"module.{call}; print((time.process_time() - begun) * 1000)"
    )
    return float(subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout)


def main():
    for what, module, call in LISTS:
        print(f"{what:44} {min(once(module, call) for _ in range(3)):8.0f}")


if __name__ == "__main__":
    main()
