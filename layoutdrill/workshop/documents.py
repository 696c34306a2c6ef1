"""Read and write what a workshop passes round: sets, keys and results. Errors are those of the files."""

from base64 import b64encode
from dataclasses import replace
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.workshop.files import KEY, RESULT, SET, built, damaged, digest_of, read_document, write_document
from layoutdrill.workshop.model import Feedback, Result, WorkshopSet
from layoutdrill.workshop.plain_values import as_items
from layoutdrill.workshop.result_form import result_json, result_of
from layoutdrill.workshop.set_form import key_entry, key_json, set_json, set_of


def write_set(path: Path, made: WorkshopSet) -> Path | None:
    """
    Write a set; where its key is kept apart, write that beside it and return its path.

    With `Feedback.NOW` the key is in the set's file, as anyone who opens the file can read.
    """
    apart = made.feedback is Feedback.END
    pictures = {name: b64encode(data).decode() for name, data in sorted(made.pictures.items())}
    apart_of_digest = {"key": None if apart else key_json(made.key)} | ({"pictures": pictures} if pictures else {})
    write_document(path, SET, set_json(made) | apart_of_digest)
    if not apart:
        return None
    beside = key_path(path)
    write_document(beside, KEY, {"set": made.digest, "title": made.title, "key": key_json(made.key)})
    return beside


def key_path(path: Path) -> Path:
    """Return where the key of a set is kept when it does not travel in it."""
    return path.with_name(path.name + ".key")


def sealed(made: WorkshopSet) -> WorkshopSet:
    """Return a set with the digests of its key and of itself."""
    whole = replace(made, key_digest=digest_of(key_json(made.key)))
    return replace(whole, digest=digest_of(set_json(whole)))


def read_set(path: Path, key: Path | None = None) -> WorkshopSet:
    """Return a set, with its key where that is in it, or in the `key` file."""
    given = read_document(path, SET)
    made = built(path, lambda: set_of(given))
    if digest_of(set_json(made)) != made.digest:
        raise damaged(path, "its contents do not agree with its digest")
    entries = given.get("key")
    where = path
    if entries is None and key is not None:
        opened = read_document(key, KEY)
        if opened.get("set") != made.digest:
            raise LayoutdrillError("this key is of another set", where=Where(str(key)), todo="take the set's own key")
        entries, where = opened.get("key"), key
    if entries is None:
        return made
    if digest_of(entries) != made.key_digest:
        raise damaged(where, "the key does not agree with the set")

    read = built(where, lambda: tuple(key_entry(each) for each in as_items(entries)))
    if [e.number for e in read] != [s.number for s in made.sheets]:
        raise damaged(where, "the key has other questions than the set")
    return replace(made, key=read)


def signed(result: Result) -> Result:
    """Return a result with its digest."""
    return replace(result, digest=digest_of(result_json(result)))


def write_result(path: Path, result: Result) -> None:
    """Write one learner's result with its digest; a file that is there is replaced in one step."""
    write_document(path, RESULT, result_json(result))


def read_result(path: Path) -> Result:
    given = read_document(path, RESULT)
    read = built(path, lambda: result_of(given))
    if digest_of(result_json(read)) != read.digest:
        raise damaged(path, "its contents do not agree with its digest")
    return read
