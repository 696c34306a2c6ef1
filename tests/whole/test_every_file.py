"""What holds in every file of the package, read from its source."""

import ast
import re

from layoutdrill.question.registry import TABLE
from tests.whole.imports import PACKAGE, circles, files, graph, imports_of, text_of, tree_of

IMPORTS_AS_IT_GOES = ("layoutdrill.__main__", "layoutdrill.cli", "layoutdrill.screens.routes")
"""Modules whose purpose it is to import only what a command or a screen uses (cli_circuit and its like with them)."""
WIDEST = 6


def nodes(sorts, pattern, room=""):
    """
    Yield the nodes of some sorts with the name of their file. Only files whose text has the pattern are searched: no
    node that is looked for can stand in another.
    """
    for name, path in files().items():
        if name.startswith(f"layoutdrill.{room}") and re.search(pattern, text_of(path)):
            yield from ((name, node) for node in ast.walk(tree_of(path)) if isinstance(node, sorts))


def test_the_search_for_circles_finds_one():
    """On three small graphs: none, one of two, one of three beside what leads there."""
    assert circles({"a": {"b"}, "b": {"c"}, "c": set()}) == []
    assert circles({"a": {"b"}, "b": {"a"}}) == [["a", "b"]]
    assert circles({"x": {"a"}, "a": {"b"}, "b": {"c"}, "c": {"a", "y"}, "y": set()}) == [["a", "b", "c"]]


def test_no_circles_among_files():
    """Not even through imports within functions, or through the table by which kinds of question are imported."""
    edges = graph()
    edges["layoutdrill.question.registry"] |= {
        f"layoutdrill.question.{place.partition('.')[0]}" for place in TABLE.values()
    }
    assert edges.keys() >= edges["layoutdrill.question.registry"]
    assert circles(edges) == []


def test_every_import_within_a_function_says_why():
    """Each has its reason on its line, but where that is the purpose of the file."""
    known = frozenset(files())
    silent = []
    for name, path in files().items():
        if name.startswith(IMPORTS_AS_IT_GOES):
            continue
        lines = path.read_text("utf-8").splitlines()
        statements = {node.lineno: node for _, node, inside in imports_of(name, path, known) if inside}
        for line, node in sorted(statements.items()):
            said = " ".join(lines[line - 1 : node.end_lineno])
            before = lines[line - 2]
            if not re.search(r"PLC0415 - \w", said) and not re.search(r"PLC0415 - \w", before):
                silent.append(f"{path.relative_to(PACKAGE)}:{line}")
    assert silent == []


def test_functions_take_a_job_not_a_list_of_things():
    """No function has more than six arguments, itself not counted."""
    wide, count = [], 0
    for name, node in nodes(ast.FunctionDef | ast.AsyncFunctionDef, r"\bdef "):
        given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        count += 1
        if len(given) - (bool(given) and given[0].arg in ("self", "cls")) > WIDEST:
            wide.append(f"{name}:{node.lineno} {node.name}")
    assert wide == []
    assert count > 3000


def test_nothing_is_known_by_its_address():
    """`id()` of a thing changes from run to run and is used again: `Itself` is what keys are made of."""
    asked = [
        f"{name}:{node.lineno}"
        for name, node in nodes(ast.Call, r"\bid\b")
        if isinstance(node.func, ast.Name) and node.func.id == "id"
    ]
    assert asked == []


def test_every_choice_is_rolled_by_the_one_dice():
    """No file imports the standard library's `random`, whose methods may change from version to version."""
    rolled = [
        name
        for name, node in nodes(ast.Import | ast.ImportFrom, r"\brandom\b")
        if (isinstance(node, ast.Import) and any(alias.name == "random" for alias in node.names))
        or (isinstance(node, ast.ImportFrom) and node.module == "random")
    ]
    assert rolled == []


def test_values_are_made_when_needed():
    """`@value` and `@mutable`, never the standard decorator, which makes every method of every class at import."""
    made = [
        f"{name}:{node.lineno}"
        for name, node in nodes(ast.ClassDef, r"@\s*dataclass\b")
        if any(ast.unparse(given).partition("(")[0] == "dataclass" for given in node.decorator_list)
    ]
    assert made == []


def test_no_other_room_asks_which_kind_a_question_is_of():
    """Outside its own module, nothing is compared with the name of a kind."""
    compared, count = [], 0
    for name, node in nodes(ast.Compare, r"\b(question|asked|answer|record|draw)\s*\.\s*kind\b"):
        count += 1
        sides = [node.left, *node.comparators]
        about = any(isinstance(s, ast.Attribute) and s.attr == "kind" and ast.unparse(s.value) in
                    ("question", "self.asked", "answer", "record", "draw") for s in sides)  # fmt: skip
        named = any(isinstance(s, ast.Constant) and s.value in TABLE for s in sides)
        if about and named:
            compared.append(f"{name}:{node.lineno}")
    assert not compared
    assert count
