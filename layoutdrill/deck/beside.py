"""Files that a deck names: in its folder or below it, links followed, never elsewhere."""

from pathlib import Path

from layoutdrill.yamldoc import Node


def beside(node: Node, folder: Path, endings: tuple[str, ...], todo: str = "put it beside the deck") -> Path:
    """Read the name of a file in the deck's folder or below it. Raises LayoutdrillError for any other."""
    name = node.text()
    path = folder / name
    if not name.lower().endswith(endings):
        node.fail(f"“{name}” is of another sort", f"its name ends in {', '.join(endings)}")
    if not inside(folder, path):
        node.fail(f"“{name}” lies outside the deck's folder", "put it beside the deck")
    if not path.is_file():
        node.fail(f"no file {name}", todo)
    return path


def inside(folder: Path, path: Path) -> bool:
    """Tell whether a path lies in a folder, links followed."""
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):
        return False
