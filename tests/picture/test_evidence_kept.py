"""What is kept of the evidence is what would be worked out, and is used for nothing else."""

import ast
import json
import re
from dataclasses import replace
from itertools import product

import pytest

from layoutdrill.locations import PACKAGE
from layoutdrill.picture import evidence, evidence_kept
from layoutdrill.picture.evidence_kept import ENGINE, FILE, digest, kept
from layoutdrill.picture.looks import load_look, look_names
from layoutdrill.process import load_process, process_names
from tests.bench.keep_evidence import row
from tests.each import each
from tests.sampling import covering

PAIRS = list(product(process_names(), look_names()))


@each(("process", "look"), covering(PAIRS))
def test_what_is_kept_is_what_is_worked_out(process, look):
    """The line in the file equals one made now; if not: python -m tests.bench.keep_evidence."""
    assert row(process, look) in FILE.read_text("utf-8").replace(",\n", "\n").split("\n")


def test_what_is_kept_was_made_by_the_engine_as_it_is():
    """Each line bears the digest of its look, process and engine, and there is one for each pair."""
    rows = [json.loads(line.rstrip(",")) for line in FILE.read_text("utf-8").split("\n")[1:-2]]
    assert [(line["process"], line["look"]) for line in rows] == PAIRS
    for line in rows:
        assert line["digest"] == digest(load_look(line["look"]), load_process(line["process"]))


def test_what_ships_needs_no_picture(monkeypatch):
    """For every look and process that ship the facts come from the file, and no drawing is made."""
    monkeypatch.setattr(evidence, "_VISIBLE", {})
    monkeypatch.setattr(evidence, "render", None)
    for name in process_names():
        facts = [evidence.visible(load_look(look), load_process(name)) for look in look_names()]
        assert any(facts), name


@pytest.mark.parametrize("change", [{"ground": (9, 9, 9)}, {"paints": ()}, {"settings": {"blur": 0.5}}])
def test_a_changed_look_is_worked_out(change):
    """A look of an author's own has no entry, nor has a process whose regions differ."""
    look, process = load_look("reflected-light"), load_process("silicon-gate-cmos")
    assert kept(look, process) is not None
    assert kept(replace(look, title="another", about="another"), process) is not None  # words change no picture
    altered = replace(look, **change)
    if altered != look:
        assert kept(altered, process) is None
    assert kept(look, replace(process, regions={})) is None
    assert evidence.visible(replace(look, ground=(9, 9, 9)), process)


def test_changed_films_are_worked_out(tmp_path):
    """A process file of one's own with a thicker film, of the same name, has no entry."""
    source = (PACKAGE / "process" / "data" / "silicon-gate-cmos.yaml").read_text("utf-8")
    thicker, count = re.subn(r"\[oxide (\d+)", r"[oxide 1\1", source, count=1)
    assert count == 1
    path = tmp_path / "silicon-gate-cmos.yaml"
    path.write_text(thicker, "utf-8")
    look = load_look("reflected-light")
    assert kept(look, load_process(str(path))) is None
    assert digest(look, load_process(str(path))) != digest(look, load_process("silicon-gate-cmos"))


def test_a_damaged_file_is_no_file(tmp_path, monkeypatch):
    """Where the file cannot be read the facts are worked out."""
    look, process = load_look("ink"), load_process("metal-gate-sapphire")
    right = evidence.visible(look, process)
    broken = tmp_path / "evidence.json"
    broken.write_text('[{"digest": 3', "utf-8")
    for path in (broken, tmp_path / "none.json"):
        monkeypatch.setattr(evidence_kept, "FILE", path)
        monkeypatch.setattr(evidence, "_VISIBLE", {})
        evidence_kept._entries.cache_clear()
        assert kept(look, process) is None
        assert evidence.visible(look, process) == right
    evidence_kept._entries.cache_clear()


def test_every_module_that_draws_counts():
    """The digest covers each module of the picture room that the evidence comes from."""
    found, left = set(), ["evidence"]
    while left:
        name = left.pop()
        if name in found or name == "evidence_kept":
            continue
        found.add(name)
        for node in ast.walk(ast.parse((PACKAGE / "picture" / f"{name}.py").read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                if node.module == "layoutdrill.picture":
                    left += [alias.name for alias in node.names]
                elif node.module.startswith("layoutdrill.picture."):
                    left.append(node.module.removeprefix("layoutdrill.picture."))
    assert {f"picture/{name}.py" for name in found} <= set(ENGINE)
