"""What imports what, file by file, read from the source: imports at the top and within functions, and the circles."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "layoutdrill"


@cache
def files() -> dict[str, Path]:
    """Return every module of the package by its dotted name."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def text_of(path: Path) -> str:
    return path.read_text("utf-8")


@cache
def tree_of(path: Path) -> ast.Module:
    """Return what a file says, read once."""
    return ast.parse(text_of(path))


@cache
def imports_of(module: str, path: Path, known: frozenset[str]) -> tuple[tuple[str, ast.stmt, bool], ...]:
    """Return each module of the package that a file imports, the statement, and whether it stands within a function."""
    return tuple(
        (name, node, inside)
        for node, inside in _statements(tree_of(path), inside=False)
        for name in _names(node, known)
        if name in known and name != module
    )


def _statements(node: ast.AST, *, inside: bool) -> Iterator[tuple[ast.Import | ast.ImportFrom, bool]]:
    """Yield the imports below a node but those for typing only, with whether each stands within a function."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import | ast.ImportFrom):
            yield child, inside
        elif isinstance(child, ast.If) and isinstance(child.test, ast.Name) and child.test.id == "TYPE_CHECKING":
            continue
        elif isinstance(child, ast.stmt | ast.ExceptHandler | ast.match_case):
            within = inside or isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef)
            yield from _statements(child, inside=within)


def _names(node: ast.Import | ast.ImportFrom, known: frozenset[str]) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    base = node.module or ""
    return [f"{base}.{a.name}" if f"{base}.{a.name}" in known else base for a in node.names]


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
