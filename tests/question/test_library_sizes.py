"""What is kept of the library's sizes is what the library gives, and is used for nothing else."""

import json

import pytest

from layoutdrill.cells.library import library
from layoutdrill.process import load_process, process_names
from layoutdrill.question import library_sizes
from layoutdrill.question.library_sizes import FILE, other_names, sizes, work_out_names
from layoutdrill.question.naming import canonical_structure
from tests.bench.keep_sizes import text


def test_what_is_kept_is_what_the_library_gives():
    """The file equals one made now; if not: python -m tests.bench.keep_sizes."""
    assert FILE.read_text("utf-8") == text()


@pytest.mark.parametrize(("process", "structure", "transistors"), [
    ("silicon-gate-cmos", "NAND2", 4),  # two of each kind (Weste & Harris)
    ("silicon-gate-nmos", "NAND2", 3),  # a load and one for each input (Mead & Conway, from memory)
    ("silicon-gate-cmos", "inverter", 2),
])  # fmt: skip
def test_the_smallest_of_a_structure_counts(process, structure, transistors):
    assert sizes(process)[structure] == transistors


def test_every_structure_that_fits_is_there():
    """Of each process that ships, and of no other."""
    for name in process_names():
        process = load_process(name)
        fitting = {canonical_structure(cell.structure) for cell in library().values() if cell.fits(process)}
        assert set(sizes(name)) == fitting
    assert sizes("no-such-process") == {}


def test_of_other_files_nothing_is_kept(tmp_path, monkeypatch):
    """A library that has changed since, or a damaged file, is worked out anew."""
    right = sizes("silicon-gate-cmos"), other_names()
    told = json.loads(FILE.read_text("utf-8"))
    told["digest"], told["sizes"] = "of other files", {"silicon-gate-cmos": {}}
    for changed in (json.dumps(told), "{", "[]"):
        (tmp_path / "changed.json").write_text(changed)
        monkeypatch.setattr(library_sizes, "FILE", tmp_path / "changed.json")
        library_sizes._kept.cache_clear()
        try:
            assert (sizes("silicon-gate-cmos"), other_names()) == right
        finally:
            library_sizes._kept.cache_clear()
    assert right[1] == work_out_names()
