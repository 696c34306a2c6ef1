"""
Write and read the files of a workshop: JSON with its form, version and a digest over everything else.

A digest tells that a file is as it was written: damaged in no way. It does not tell by whom: who changes a file can
make a new digest. Raises LayoutdrillError with file, what and what to do, for everything that is not as it should be.
"""

import json
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.outlet import write_whole
from layoutdrill.workshop.plain_values import Json

SET, KEY, RESULT = "layoutdrill workshop set", "layoutdrill workshop key", "layoutdrill workshop result"
VERSION = 1
_APART = ("key", "pictures")
"""What has digests of its own within a set."""
MOST_BYTES = 64 * 1024 * 1024

T = TypeVar("T")


def canonical(value: object) -> str:
    """Return JSON in one spelling: sorted keys, no spaces."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def digest_of(value: object) -> str:
    return sha256(canonical(value).encode()).hexdigest()


def write_document(path: Path, form: str, content: Json) -> None:
    kept = {name: value for name, value in content.items() if not (form == SET and name in _APART)}
    whole = {"form": form, "version": VERSION, **content, "digest": digest_of(kept)}
    try:
        write_whole(path, (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode())
    except OSError as error:
        raise LayoutdrillError(
            f"cannot be written ({error.strerror})", where=Where(str(path)), todo="choose another file"
        ) from None


def read_document(path: Path, form: str) -> Json:
    try:
        if not path.is_file():
            raise LayoutdrillError("no such file", where=Where(str(path)), todo=f"name a file that holds a {form}")
        if path.stat().st_size > MOST_BYTES:
            raise LayoutdrillError(f"larger than {MOST_BYTES >> 20} MiB", where=Where(str(path)))
        given = json.loads(path.read_bytes())
    except OSError as error:
        raise LayoutdrillError(f"cannot be read ({error.strerror})", where=Where(str(path))) from None
    except (ValueError, RecursionError):
        raise damaged(path, "this is no JSON") from None
    if not isinstance(given, dict) or given.get("form") != form:
        raise LayoutdrillError(f"this is no {form}", where=Where(str(path)), todo="name another file")
    if given.get("version") != VERSION:
        raise LayoutdrillError(
            f"it is of version {given.get('version')}, this program reads {VERSION}",
            where=Where(str(path)),
            todo="use the layoutdrill it was made with",
        )
    return given


def damaged(path: Path, what: str) -> LayoutdrillError:
    return LayoutdrillError(f"damaged: {what}", where=Where(str(path)), todo="ask for the file once more")


def built(path: Path, build: Callable[[], T]) -> T:
    try:
        return build()
    except KeyError as error:
        raise damaged(path, f"“{error.args[0]}” is missing") from None
    except (TypeError, ValueError) as error:
        raise damaged(path, str(error)) from None
