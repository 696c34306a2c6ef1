"""A set comes back as it was written, tells nothing it should not, and says plainly when it is damaged."""

import json
from dataclasses import replace

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.workshop.documents import digest_of, key_path, read_result, read_set, sealed, write_result, write_set
from layoutdrill.workshop.model import Feedback
from tests.workshop.conftest import answered


def test_a_set_comes_back_whole(made, tmp_path):
    """What was written is read, key and all."""
    write_set(tmp_path / "a.set", made)
    assert read_set(tmp_path / "a.set") == made


def test_a_key_kept_apart_is_not_in_the_set(made, tmp_path):
    """Neither the answers nor the names of cells or structures stand in the file that learners get."""
    apart = sealed(replace(made, feedback=Feedback.END))
    path = tmp_path / "a.set"
    assert write_set(path, apart) == key_path(path)
    text = path.read_text("utf-8")
    assert json.loads(text)["key"] is None
    assert not read_set(path).key
    sheets = json.loads(text)["questions"]
    for entry in made.key:
        form = {**sheets[entry.number - 1]["form"], "choices": ()}  # among which the right one must stand
        asked = json.dumps([form, sheets[entry.number - 1]["layout"]])
        assert f'"{entry.cell}"' not in asked
        assert "question" in sheets[entry.number - 1]["layout"].splitlines()[0]
    assert read_set(path, key_path(path)).key == apart.key


def test_a_key_of_another_set_is_refused(made, tmp_path):
    """A key opens its own set only."""
    one, other = sealed(replace(made, feedback=Feedback.END)), sealed(replace(made, feedback=Feedback.END, seed=99))
    write_set(tmp_path / "one.set", one)
    write_set(tmp_path / "other.set", other)
    with pytest.raises(LayoutdrillError, match="another set"):
        read_set(tmp_path / "one.set", tmp_path / "other.set.key")


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (lambda s: s | {"title": "another"}, "digest"),
        (lambda s: s | {"questions": []}, "no questions"),
        (lambda s: {k: v for k, v in s.items() if k != "seed"}, "“seed” is missing"),
        (lambda s: s | {"minutes": "ten"}, "minutes is no whole number"),
        (lambda s: s | {"version": 99}, "version 99"),
        (lambda s: s | {"form": "shopping list"}, "no layoutdrill workshop set"),
        (lambda s: s | {"key": s["key"][:-1]}, "key does not agree"),
        (lambda s: s | {"processes": {}}, "is not in it"),
    ],
)
def test_a_changed_set_is_refused(made, tmp_path, change, what):
    """Each kind of damage gets its own message, with the file's name."""
    path = tmp_path / "a.set"
    write_set(path, made)
    path.write_text(json.dumps(change(json.loads(path.read_text("utf-8")))), "utf-8")
    with pytest.raises(LayoutdrillError, match=what) as refused:
        read_set(path)
    assert str(path) in str(refused.value)


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"\xff\xfe", b"[" * 100_000, b"null", b"3"])
def test_what_is_no_set_is_refused(tmp_path, content):
    """No bytes at all make a traceback."""
    path = tmp_path / "a.set"
    path.write_bytes(content)
    with pytest.raises(LayoutdrillError):
        read_set(path)


def test_a_result_comes_back_and_a_changed_one_does_not(made, tmp_path):
    """One letter changed in an answer is noticed."""
    path = tmp_path / "a.result"
    result = answered(made, "Ann")
    write_result(path, result)
    assert read_result(path) == result
    given = json.loads(path.read_text("utf-8"))
    given["answers"][0]["given"] += "x"
    path.write_text(json.dumps(given), "utf-8")
    with pytest.raises(LayoutdrillError, match="digest"):
        read_result(path)


def test_a_digest_is_that_of_the_published_algorithm():
    """SHA-256 over sorted JSON: the digest of `{}` is the hash of two bytes (value from memory, FIPS 180-4)."""
    assert digest_of({}) == "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"
