"""
Read and write what a workshop passes round: sets, keys and results, as JSON with a digest over everything else.

A digest tells that a file is as it was written: damaged in no way. It does not tell by whom: who changes a file can
make a new digest. Raises LayoutdrillError with file, what and what to do, for everything that is not as it should be.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.outlet import write_whole
from layoutdrill.workshop.model import Feedback, Given, KeyEntry, Result, Sheet, WorkshopSet

SET, KEY, RESULT = "layoutdrill workshop set", "layoutdrill workshop key", "layoutdrill workshop result"
VERSION = 1
MOST_BYTES = 64 * 1024 * 1024
_MOST_TEXT = 200
"""Letters in a title or name."""

T = TypeVar("T")
Json = dict[str, object]


def canonical(value: object) -> str:
    """Return JSON in one spelling: sorted keys, no spaces."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def digest_of(value: object) -> str:
    return sha256(canonical(value).encode()).hexdigest()


# Sets and keys


def write_set(path: Path, made: WorkshopSet) -> Path | None:
    """
    Write a set; where its key is kept apart, write that beside it and return its path.

    With `Feedback.NOW` the key is in the set's file, as anyone who opens the file can read.
    """
    apart = made.feedback is Feedback.END
    _write(path, SET, _set_json(made) | {"key": None if apart else _key_json(made.key)})
    if not apart:
        return None
    beside = key_path(path)
    _write(beside, KEY, {"set": made.digest, "title": made.title, "key": _key_json(made.key)})
    return beside


def key_path(path: Path) -> Path:
    """Return where the key of a set is kept when it does not travel in it."""
    return path.with_name(path.name + ".key")


def sealed(made: WorkshopSet) -> WorkshopSet:
    """Return a set with the digests of its key and of itself."""
    whole = replace(made, key_digest=digest_of(_key_json(made.key)))
    return replace(whole, digest=digest_of(_set_json(whole)))


def read_set(path: Path, key: Path | None = None) -> WorkshopSet:
    """Return a set, with its key where that is in it, or in the `key` file."""
    given = _read(path, SET)
    made = _built(path, lambda: _set(given))
    if digest_of(_set_json(made)) != made.digest:
        raise _damaged(path, "its contents do not agree with its digest")
    entries = given.get("key")
    where = path
    if entries is None and key is not None:
        opened = _read(key, KEY)
        if opened.get("set") != made.digest:
            raise LayoutdrillError("this key is of another set", where=Where(str(key)), todo="take the set's own key")
        entries, where = opened.get("key"), key
    if entries is None:
        return made
    if digest_of(entries) != made.key_digest:
        raise _damaged(where, "the key does not agree with the set")

    read = _built(where, lambda: tuple(_key_entry(each) for each in _list(entries)))
    if [e.number for e in read] != [s.number for s in made.sheets]:
        raise _damaged(where, "the key has other questions than the set")
    return replace(made, key=read)


def _set_json(made: WorkshopSet) -> Json:
    return {
        "title": made.title,
        "deck": made.deck,
        "seed": made.seed,
        "minutes": made.minutes,
        "feedback": made.feedback.value,
        "difficulty": made.difficulty,
        "made with": made.made_with,
        "processes": dict(made.processes),
        "key digest": made.key_digest,
        "questions": [
            {
                "number": sheet.number,
                "kind": sheet.kind,
                "process": sheet.process,
                "layout": sheet.layout,
                "layout digest": sha256(sheet.layout.encode()).hexdigest(),
                "prompt": sheet.prompt,
                "choices": list(sheet.choices),
                "facts": list(sheet.facts),
                "marks": [list(mark) for mark in sheet.marks],
                "pointed": sheet.pointed,
                "typed": sheet.typed,
                "look": sheet.look,
                "lot": sheet.lot,
                "wear": sheet.wear,
                "frame": None if sheet.frame is None else list(sheet.frame),
                "form": dict(sheet.form),
            }
            for sheet in made.sheets
        ],
    }


def _key_json(entries: tuple[KeyEntry, ...]) -> list[Json]:
    return [
        {
            "number": entry.number,
            "key": dict(entry.key),
            "cell": entry.cell,
            "structure": entry.structure,
            "aliases": list(entry.aliases),
            "boundary": entry.boundary,
            "about": entry.about,
            "skill": entry.skill,
        }
        for entry in entries
    ]


def _set(given: Json) -> WorkshopSet:
    sheets = tuple(_sheet(_mapping(each), i) for i, each in enumerate(_list(given["questions"]), 1))
    if not sheets:
        raise ValueError("it has no questions")
    processes = {str(name): _text(text, "process", None) for name, text in _mapping(given["processes"]).items()}
    missing = sorted({sheet.process for sheet in sheets} - set(processes))
    if missing:
        raise ValueError(f"process {missing[0]} is not in it")
    difficulty = given["difficulty"]
    return WorkshopSet(
        title=_text(given["title"], "title"),
        deck=_text(given["deck"], "deck"),
        seed=_integer(given["seed"], "seed"),
        minutes=_integer(given["minutes"], "minutes", 0),
        feedback=Feedback(_text(given["feedback"], "feedback")),
        difficulty=None if difficulty is None else _number(difficulty, "difficulty"),
        made_with=_text(given["made with"], "made with"),
        sheets=sheets,
        processes=processes,
        key_digest=_text(given["key digest"], "key digest"),
        digest=_text(given["digest"], "digest"),
    )


def _sheet(given: Json, number: int) -> Sheet:
    if given["number"] != number:
        raise ValueError(f"question {number} is numbered {given['number']}")
    layout = _text(given["layout"], "layout", None)
    if sha256(layout.encode()).hexdigest() != given["layout digest"]:
        raise ValueError(f"the layout of question {number} does not agree with its digest")
    marks = []
    for each in _list(given["marks"]):
        letter, x, y, ring = _list(each)
        marks.append((_text(letter, "mark"), _integer(x, "mark"), _integer(y, "mark"), bool(ring)))
    return Sheet(
        number=number,
        kind=_text(given["kind"], "kind"),
        process=_text(given["process"], "process"),
        layout=layout,
        prompt=_text(given["prompt"], "prompt", 2000),
        choices=_texts(given["choices"]),
        facts=_texts(given["facts"]),
        marks=tuple(marks),
        pointed=bool(given["pointed"]),
        typed=bool(given["typed"]),
        look=_text(given["look"], "look"),
        lot=_integer(given["lot"], "lot", 0),
        wear=_number(given["wear"], "wear"),
        frame=_frame(given["frame"]),
        form=_mapping(given["form"]),
    )


def _frame(value: object) -> tuple[int, int, int, int] | None:
    if value is None:
        return None
    x0, y0, x1, y1 = (_integer(each, "frame") for each in _list(value))
    return x0, y0, x1, y1


def _key_entry(value: object) -> KeyEntry:
    given = _mapping(value)
    return KeyEntry(
        number=_integer(given["number"], "number"),
        key=_mapping(given["key"]),
        cell=_text(given["cell"], "cell"),
        structure=_text(given["structure"], "structure"),
        aliases=_texts(given["aliases"]),
        boundary=_text(given["boundary"], "boundary", 2000),
        about=_text(given["about"], "about", 4000),
        skill=_text(given["skill"], "skill"),
    )


# Results


def signed(result: Result) -> Result:
    """Return a result with its digest."""
    return replace(result, digest=digest_of(_result_json(result)))


def write_result(path: Path, result: Result) -> None:
    """Write one learner's result with its digest; a file that is there is replaced in one step."""
    _write(path, RESULT, _result_json(result))


def read_result(path: Path) -> Result:
    given = _read(path, RESULT)
    read = _built(path, lambda: _result(given))
    if digest_of(_result_json(read)) != read.digest:
        raise _damaged(path, "its contents do not agree with its digest")
    return read


def _result_json(result: Result) -> Json:
    return {
        "set": result.set_digest,
        "title": result.title,
        "name": result.name,
        "started": result.started,
        "finished": result.finished,
        "made with": result.made_with,
        "answers": [
            {
                "number": given.number,
                "given": given.text,
                "point": None if given.point is None else list(given.point),
                "skipped": given.skipped,
                "seconds": round(given.seconds, 3),
                "at": round(given.at, 3),
                "hints": list(given.hints),
                "confidence": given.confidence,
            }
            for given in result.answers
        ],
    }


def _result(given: Json) -> Result:
    return Result(
        set_digest=_text(given["set"], "set"),
        title=_text(given["title"], "title"),
        name=_text(given["name"], "name"),
        started=_text(given["started"], "started"),
        finished=_text(given["finished"], "finished"),
        made_with=_text(given["made with"], "made with"),
        answers=tuple(_given(_mapping(each)) for each in _list(given["answers"])),
        digest=_text(given["digest"], "digest"),
    )


def _given(given: Json) -> Given:
    point = None
    if given["point"] is not None:
        x, y = _list(given["point"])
        point = (_integer(x, "point"), _integer(y, "point"))
    confidence = given["confidence"]
    return Given(
        number=_integer(given["number"], "number"),
        text=_text(given["given"], "answer", 20_000),
        point=point,
        skipped=bool(given["skipped"]),
        seconds=_number(given["seconds"], "seconds"),
        at=_number(given["at"], "at"),
        hints=_texts(given["hints"]),
        confidence=None if confidence is None else _integer(confidence, "confidence"),
    )


# Files


def _write(path: Path, form: str, content: Json) -> None:
    kept = {name: value for name, value in content.items() if not (form == SET and name == "key")}
    whole = {"form": form, "version": VERSION, **content, "digest": digest_of(kept)}
    try:
        write_whole(path, (json.dumps(whole, ensure_ascii=False, indent=1) + "\n").encode())
    except OSError as error:
        raise LayoutdrillError(
            f"cannot be written ({error.strerror})", where=Where(str(path)), todo="choose another file"
        ) from None


def _read(path: Path, form: str) -> Json:
    try:
        if not path.is_file():
            raise LayoutdrillError("no such file", where=Where(str(path)), todo=f"name a file that holds a {form}")
        if path.stat().st_size > MOST_BYTES:
            raise LayoutdrillError(f"larger than {MOST_BYTES >> 20} MiB", where=Where(str(path)))
        given = json.loads(path.read_bytes())
    except OSError as error:
        raise LayoutdrillError(f"cannot be read ({error.strerror})", where=Where(str(path))) from None
    except (ValueError, RecursionError):
        raise _damaged(path, "this is no JSON") from None
    if not isinstance(given, dict) or given.get("form") != form:
        raise LayoutdrillError(f"this is no {form}", where=Where(str(path)), todo="name another file")
    if given.get("version") != VERSION:
        raise LayoutdrillError(
            f"it is of version {given.get('version')}, this program reads {VERSION}",
            where=Where(str(path)),
            todo="use the layoutdrill it was made with",
        )
    return given


def _damaged(path: Path, what: str) -> LayoutdrillError:
    return LayoutdrillError(f"damaged: {what}", where=Where(str(path)), todo="ask for the file once more")


def _built(path: Path, build: Callable[[], T]) -> T:
    try:
        return build()
    except KeyError as error:
        raise _damaged(path, f"“{error.args[0]}” is missing") from None
    except (TypeError, ValueError) as error:
        raise _damaged(path, str(error)) from None


def _mapping(value: object) -> Json:
    if not isinstance(value, Mapping):
        raise TypeError("a table was expected where there is none")
    return {str(name): each for name, each in value.items()}


def _list(value: object) -> list[object]:
    if not isinstance(value, list):
        raise TypeError("a list was expected where there is none")
    return value


def _text(value: object, what: str, most: int | None = _MOST_TEXT) -> str:
    if not isinstance(value, str):
        raise TypeError(f"the {what} is no text")
    if most is not None and len(value) > most:
        raise ValueError(f"the {what} is longer than {most} letters")
    return value


def _texts(value: object) -> tuple[str, ...]:
    return tuple(_text(each, "text", 2000) for each in _list(value))


def _integer(value: object, what: str, least: int | None = None) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or abs(value) > 2**62:
        raise TypeError(f"the {what} is no whole number")
    if least is not None and value < least:
        raise ValueError(f"the {what} is below {least}")
    return value


def _number(value: object, what: str) -> float:
    if not isinstance(value, (int, float)) or isinstance(value, bool) or not abs(value) < 1e9:
        raise TypeError(f"the {what} is no number")
    return float(value)
