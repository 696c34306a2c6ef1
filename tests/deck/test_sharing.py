"""A deck goes into one zip and comes out of it as it was; what is not as it should be is refused whole."""

import json
import zipfile
from hashlib import sha256

import pytest

from layoutdrill.cli import main
from layoutdrill.covers import added_decks, deck_covers
from layoutdrill.deck import load_deck
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.pack import add, pack
from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.netlist.spice import write_spice
from layoutdrill.process import load_process
from tests.drawings import drawing_of
from tests.photo.specimens import photograph

DECK = """title: Beacon gates
about: Two.
licence: CC0-1.0
processes: [silicon-gate-cmos]
kinds: [name, count]
items:
  - photo: nand2.marks.yaml
  - cells: nor2
"""


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("beacon")
    photograph(folder, "nand2", stages=True)
    (folder / "beacon.yaml").write_text(DECK, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def source(folder, tmp_path_factory):
    """The same deck packed as it should be."""
    return packed(folder, tmp_path_factory.mktemp("packed") / "beacon.zip")


def packed(folder, target):
    pack(load_deck(folder / "beacon.yaml"), folder / "beacon.yaml", target)
    return target


def test_a_packed_deck_comes_out_as_it_was(folder, home, tmp_path):
    target = packed(folder, tmp_path / "beacon.zip")
    assert target.read_bytes() == packed(folder, tmp_path / "again.zip").read_bytes()
    path = add(target)
    assert path == home / "decks" / "beacon" / "beacon.yaml"
    assert added_decks() == (path,)
    assert check_deck("beacon") == []
    assert any(cover.name == "beacon" for cover in deck_covers())
    assert {file.name: file.read_bytes() for file in path.parent.iterdir()} == {
        name: (folder / name).read_bytes() for name in ("beacon.yaml", "nand2.marks.yaml", "nand2.png", "nand2-off.png")
    }


def changed(source, target, *, drop=(), more=(), manifest=None):
    """Copy a packed deck with entries dropped, added, or its manifest changed."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            data = old.read(entry)
            if entry.filename == "manifest.json" and manifest is not None:
                told = json.loads(data)
                manifest(told)
                data = json.dumps(told).encode()
            if entry.filename not in drop:
                new.writestr(entry.filename, data)
        for name, data in more:
            new.writestr(name, data)
    return target


def listing(name, data):
    """Return what lists one more file in a manifest."""

    def change(told):
        told["files"][name] = {"bytes": len(data), "sha256": sha256(data).hexdigest()}

    return change


def link(name):
    entry = zipfile.ZipInfo(name)
    entry.external_attr = 0o120777 << 16
    return entry


BOMB = b"\0" * 5_000_000


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"drop": ("nand2.png",)}, "does not list what it holds"),
        ({"more": [("extra.yaml", b"x: 1")]}, "does not list what it holds"),
        ({"more": [("../evil.yaml", b"x")], "manifest": listing("../evil.yaml", b"x")}, "is no name for a file"),
        ({"more": [("/evil.yaml", b"x")], "manifest": listing("/evil.yaml", b"x")}, "is no name for a file"),
        ({"more": [("a\\b.yaml", b"x")], "manifest": listing("a\\b.yaml", b"x")}, "is no name for a file"),
        ({"more": [("run.sh", b"x")], "manifest": listing("run.sh", b"x")}, "is of a sort that no deck needs"),
        ({"more": [(link("l.yaml"), b"/etc/passwd")], "manifest": listing("l.yaml", b"/etc/passwd")}, "no plain file"),
        ({"more": [("b.yaml", BOMB)], "manifest": listing("b.yaml", b"x")}, "larger than its manifest says"),
        ({"manifest": lambda told: told.update(format=9)}, "format 9"),
        ({"manifest": lambda told: told.update(deck="other.yaml")}, "it holds no deck"),
        ({"manifest": lambda told: told["files"]["beacon.yaml"].update(sha256="0" * 64)}, "not what its manifest says"),
        ({"manifest": lambda told: told["files"]["nand2.png"].update(bytes=2_000_000_000)}, "larger than 1,000 MB"),
        ({"manifest": lambda told: told.update(files=[])}, "this is no packed deck"),
        ({"drop": ("manifest.json",)}, "has no manifest"),
    ],
)
def test_what_is_not_as_it_should_be_is_refused(source, home, tmp_path, how, said):
    """Traversal, links, bombs, strangers, wrong hashes: one line, and nothing is left behind."""
    with pytest.raises(LayoutdrillError) as told:
        add(changed(source, tmp_path / "bad.zip", **how))
    assert said in str(told.value)
    assert list((home / "decks").iterdir()) == []
    assert not (tmp_path / "evil.yaml").exists()


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"title: t\n"])
def test_no_zip_is_no_packed_deck(home, tmp_path, data):
    path = tmp_path / "a.zip"
    path.write_bytes(data)
    with pytest.raises(LayoutdrillError, match="no packed deck"):
        add(path)


def test_a_deck_with_an_error_is_not_installed(folder, home, tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    (other / "beacon.yaml").write_text("title: t\nabout: a\nitems: [{cells: nad2}]\n", encoding="utf-8")
    path = other / "beacon.yaml"
    deck = load_deck(folder / "beacon.yaml")
    source = tmp_path / "a.zip"
    pack(type(deck)("beacon", "t", "a", ()), path, source)
    with pytest.raises(LayoutdrillError, match="nad2"):
        add(source)
    assert list((home / "decks").iterdir()) == []


def test_check_tells_errors_and_warnings_apart(folder, tmp_path, capsys):
    """0 with nothing to tell, 1 with warnings alone, 2 with an error; as JSON each with its place."""
    good, bad = tmp_path / "good.yaml", tmp_path / "bad.yaml"
    good.write_text("title: t\nabout: a\nitems: [{cells: nand2, kinds: name}]\n", encoding="utf-8")
    bad.write_text("title: t\nabout: a\nitems: [{cells: nad2}]\n", encoding="utf-8")
    assert main(["check", str(good), "--cores", "1"]) == 0
    assert main(["check", str(bad), "--json"]) == 2
    out = capsys.readouterr().out
    told = json.loads(out[out.index("[\n") :])
    assert [(row["level"], row["line"], row["column"]) for row in told] == [("error", 3, 17)]
    assert main(["check", str(folder / "beacon.yaml"), "--json", "--cores", "1"]) == 1
    assert {row["level"] for row in json.loads(capsys.readouterr().out)} == {"warning"}


def test_several_cores_tell_what_one_does(tmp_path):
    text = "title: t\nabout: a\nitems:\n"
    text += "".join(f"  - {{cells: [nand2, nor2], processes: silicon-gate-cmos, kinds: [{kind}]}}\n" for kind in
                    ("name", "ratio", "sequence", "address", "count", "spot", "table", "point", "rails", "same net",
                     "polarity", "function", "transcribe"))  # fmt: skip
    path = tmp_path / "many.yaml"
    path.write_text(text, encoding="utf-8")
    one, two = check_deck(path), check_deck(path, cores=2)
    assert [str(error) for error in one] == [str(error) for error in two]
    assert one


def test_a_folder_of_layouts_becomes_a_deck(tmp_path, capsys):
    """Cells are extracted, named by what they are recognised as, and compared with the netlist beside them."""
    folder = tmp_path / "kit"
    folder.mkdir()
    process = load_process("silicon-gate-cmos")
    for name in ("inverter", "nand2"):
        made = drawing_of(name, process.name, 1, 0.2)
        (folder / f"{name}.gds").write_bytes(write_gdsii(made.layout, process))
    netlist = write_spice(made.extraction.netlist)
    (folder / "nand2.sp").write_text(netlist, encoding="utf-8")
    path = tmp_path / "mine.yaml"
    assert main(["start-deck", str(path), "--from-layouts", str(folder), "--process", process.name]) == 0
    text = path.read_text(encoding="utf-8")
    assert "structure: inverter" in text
    assert "structure: NAND2" in text
    assert "netlist: kit/nand2.sp   # equal to the layout" in text
    assert check_deck(path) == []


def test_begun_decks_pass(folder, tmp_path, monkeypatch):
    """Of drawn cells, and of a photograph that was marked."""
    path = tmp_path / "mine.yaml"
    assert main(["start-deck", str(path)]) == 0
    assert check_deck(path) == []
    assert main(["start-deck", str(path)]) == 2
    other = folder / "begun.yaml"
    assert main(["start-deck", str(other), "--photo", str(folder / "nand2.marks.yaml")]) == 0
    assert check_deck(other) == []
    other.unlink()
