"""What imports what, file by file, read from the source: imports at the top and within functions, and the circles."""

import ast
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "layoutdrill"


def files() -> dict[str, Path]:
    """Return every module of the package by its dotted name."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


def imports_of(module: str, path: Path, known: frozenset[str]) -> Iterator[tuple[str, ast.stmt, bool]]:
    """Yield each module of the package that a file imports, the statement, and whether it stands within a function."""
    tree = ast.parse(path.read_text("utf-8"))
    typing_only = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    inside = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if node in typing_only or not isinstance(node, ast.Import | ast.ImportFrom):
            continue
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            base = node.module or ""
            names = [f"{base}.{a.name}" if f"{base}.{a.name}" in known else base for a in node.names]
        for name in names:
            if name in known and name != module:
                yield name, node, node in inside


def graph(*, within_functions: bool = True) -> dict[str, set[str]]:
    """Return the modules that each module imports. A package stands for its own `__init__.py` only."""
    modules = files()
    known = frozenset(modules)
    return {
        name: {to for to, _, inside in imports_of(name, path, known) if within_functions or not inside}
        for name, path in modules.items()
    }


def circles(edges: dict[str, set[str]]) -> list[list[str]]:
    """Return the groups of modules that reach one another (Tarjan 1972, strongly connected components)."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    groups: list[list[str]] = []

    def visit(name: str) -> None:
        order[name] = low[name] = len(order)
        stack.append(name)
        for to in sorted(edges[name]):
            if to not in order:
                visit(to)
                low[name] = min(low[name], low[to])
            elif to in stack:
                low[name] = min(low[name], order[to])
        if low[name] == order[name]:
            at = stack.index(name)
            group = stack[at:]
            del stack[at:]
            if len(group) > 1:
                groups.append(sorted(group))

    for name in sorted(edges):
        if name not in order:
            visit(name)
    return groups
