"""What is kept of the files that ship, and what happens when the cache is stale, damaged, or cannot be written."""

import subprocess
import sys

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.locations import PACKAGE, shipped
from layoutdrill.yamldoc import Node, kept, load, loads
from layoutdrill.yamldoc.built import write_entries

FILES = sorted([*PACKAGE.glob("*/data/*.yaml"), *shipped("decks").glob("**/*.yaml"), *shipped("art").glob("**/*.yaml")])


@pytest.fixture
def cache(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path))
    return tmp_path / "yaml"


def plain(node: Node):
    value = node.value
    if isinstance(value, tuple):
        value = [plain(child) for child in value]
    elif isinstance(value, dict):
        value = {key: plain(child) for key, child in value.items()}
    return value, str(node.where), node.quoted, [(key, str(at)) for key, at in node.key_places], node.indent


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_file_that_ships_reads_the_same_from_the_cache(path, cache):
    """Values, places, quotes and indents: checked against reading the text itself."""
    first, second = load(path).root, load(path).root
    assert isinstance(second, kept.KeptNode)
    assert plain(first) == plain(second) == plain(loads(path.read_bytes(), str(path)).root)


def test_a_changed_file_is_read_anew(cache, tmp_path, monkeypatch):
    """An entry holds for the bytes it was made of, and for no others."""
    monkeypatch.setattr(kept, "PACKAGE", tmp_path)
    file = tmp_path / "a.yaml"
    file.write_text("a: 1\n")
    load(file)
    file.write_text("a: 2\n")
    assert load(file).root.mapping()["a"].value == 2
    assert load(file).root.mapping()["a"].value == 2


def test_damaged_entries_are_passed_over(cache):
    """Cut short, empty, changed by one letter, or not ours at all."""
    path = FILES[0]
    wanted = plain(load(path).root)
    (entry,) = cache.iterdir()
    whole = entry.read_bytes()
    for damaged in (whole[:-9], b"", whole.replace(b'"', b"'", 1), b"{}\n{}", b"\xff\n\x00"):
        entry.write_bytes(damaged)
        assert plain(load(path).root) == wanted


def test_a_folder_that_cannot_be_made_does_no_harm(tmp_path, monkeypatch):
    """A file stands where the folder would be."""
    (tmp_path / "full").write_text("")
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path / "full"))
    assert plain(load(FILES[0]).root) == plain(load(FILES[0]).root)


def test_files_of_an_author_are_not_kept(cache, tmp_path):
    """They change too often, and errors in them must be told every time."""
    own = tmp_path / "own.yaml"
    own.write_text("a: &b 1\n")
    for _ in range(2):
        with pytest.raises(LayoutdrillError, match="anchor"):
            load(own)
    own.write_text("a: 1\n")
    load(own)
    assert not cache.exists()


def test_the_library_is_not_needed_for_what_is_kept(cache):
    """Without PyYAML in the interpreter at all, a kept file can be read: checked in a fresh one."""

    load(FILES[0])
    code = (
        "import sys; sys.modules['yaml'] = None; from pathlib import Path; from layoutdrill.yamldoc import load; "
        f"print(len(load(Path({str(FILES[0])!r})).root.mapping()))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stdout.strip().isdigit(), done.stderr


def test_what_comes_with_the_wheel_needs_no_cache(cache, tmp_path, monkeypatch):
    """The entries that a build packs hold for each file that ships; nothing is written, nor the text read again."""
    built = tmp_path / "built"
    built.mkdir()
    assert write_entries(PACKAGE.parent, built) >= len(FILES)
    monkeypatch.setattr(kept, "built_folder", lambda: built)
    for path in FILES:
        root = load(path).root
        assert isinstance(root, kept.KeptNode)
        assert plain(root) == plain(loads(path.read_bytes(), str(path)).root)
    assert not cache.exists()


def test_an_entry_of_the_wheel_for_other_bytes_is_passed_over(cache, tmp_path, monkeypatch):
    """A file that was changed after the installation says what it says now."""
    built = tmp_path / "built"
    built.mkdir()
    monkeypatch.setattr(kept, "built_folder", lambda: built)
    monkeypatch.setattr(kept, "PACKAGE", tmp_path)
    file = tmp_path / "a.yaml"
    file.write_text("a: 1\n")
    (built / kept.built_name(file, b"a: 2\n")).write_bytes(kept.entry(b"a: 1\n", loads(b"a: 1\n", "a").root))
    file.write_text("a: 2\n")
    assert load(file).root.mapping()["a"].value == 2
