"""A set and its key as plain JSON, and back."""

import binascii
from base64 import b64decode
from hashlib import sha256

from layoutdrill.question.model import Grid, Listing
from layoutdrill.workshop.model import Feedback, KeyEntry, Sheet, WorkshopSet
from layoutdrill.workshop.plain_values import Json, as_integer, as_items, as_mapping, as_number, as_text, as_texts


def set_json(made: WorkshopSet) -> Json:
    return ({"picture digests": sorted(made.pictures)} if made.pictures else {}) | {
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
            | _further(sheet)
            for sheet in made.sheets
        ],
    }


def _further(sheet: Sheet) -> Json:
    """Return what only some questions have."""
    grid, listing = sheet.grid, sheet.listing
    every = {
        "scale": sheet.scale,
        "seen": list(sheet.seen) if any(sheet.seen) else [],
        "grid": grid and [list(grid.heads), [list(row) for row in grid.rows], grid.letters],
        "listing": listing and [list(listing.heads), list(listing.kinds), list(listing.names)],
    }
    return {name: value for name, value in every.items() if value}


def key_json(entries: tuple[KeyEntry, ...]) -> list[Json]:
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


def set_of(given: Json) -> WorkshopSet:
    sheets = tuple(_sheet(as_mapping(each), i) for i, each in enumerate(as_items(given["questions"]), 1))
    if not sheets:
        raise ValueError("it has no questions")
    processes = {str(name): as_text(text, "process", None) for name, text in as_mapping(given["processes"]).items()}
    missing = sorted({sheet.process for sheet in sheets} - set(processes))
    if missing:
        raise ValueError(f"process {missing[0]} is not in it")
    difficulty = given["difficulty"]
    return WorkshopSet(
        title=as_text(given["title"], "title"),
        deck=as_text(given["deck"], "deck"),
        seed=as_integer(given["seed"], "seed"),
        minutes=as_integer(given["minutes"], "minutes", 0),
        feedback=Feedback(as_text(given["feedback"], "feedback")),
        difficulty=None if difficulty is None else as_number(difficulty, "difficulty"),
        made_with=as_text(given["made with"], "made with"),
        sheets=sheets,
        processes=processes,
        key_digest=as_text(given["key digest"], "key digest"),
        digest=as_text(given["digest"], "digest"),
        pictures=pictures_of(given),
    )


def _sheet(given: Json, number: int) -> Sheet:
    if given["number"] != number:
        raise ValueError(f"question {number} is numbered {given['number']}")
    layout = as_text(given["layout"], "layout", None)
    if sha256(layout.encode()).hexdigest() != given["layout digest"]:
        raise ValueError(f"the layout of question {number} does not agree with its digest")
    marks = []
    for each in as_items(given["marks"]):
        letter, x, y, ring = as_items(each)
        marks.append((as_text(letter, "mark"), as_integer(x, "mark"), as_integer(y, "mark"), bool(ring)))
    return Sheet(
        number=number,
        kind=as_text(given["kind"], "kind"),
        process=as_text(given["process"], "process"),
        layout=layout,
        prompt=as_text(given["prompt"], "prompt", 2000),
        choices=as_texts(given["choices"]),
        facts=as_texts(given["facts"]),
        marks=tuple(marks),
        pointed=bool(given["pointed"]),
        typed=bool(given["typed"]),
        look=as_text(given["look"], "look"),
        lot=as_integer(given["lot"], "lot", 0),
        wear=as_number(given["wear"], "wear"),
        frame=_frame(given["frame"]),
        form=as_mapping(given["form"]),
        scale=as_integer(given.get("scale", 0), "scale", 0),
        seen=as_texts(given.get("seen", [])),
        grid=_grid(given.get("grid")),
        listing=_listing(given.get("listing")),
    )


def _frame(value: object) -> tuple[int, int, int, int] | None:
    if value is None:
        return None
    x0, y0, x1, y1 = (as_integer(each, "frame") for each in as_items(value))
    return x0, y0, x1, y1


def _grid(value: object) -> Grid | None:
    if value is None:
        return None
    heads, rows, letters = as_items(value)
    return Grid(as_texts(heads), tuple(as_texts(row) for row in as_items(rows)), as_text(letters, "letters"))


def _listing(value: object) -> Listing | None:
    if value is None:
        return None
    heads, kinds, names = as_items(value)
    return Listing(as_texts(heads), as_texts(kinds), as_texts(names))


def pictures_of(given: Json) -> dict[str, bytes]:
    """Return the files of photographs that a set holds. Raises ValueError where one is missing or not as it was."""
    held = as_mapping(given.get("pictures", {}))
    wanted = as_texts(given.get("picture digests", []))
    if sorted(held) != sorted(wanted):
        raise ValueError("a photograph is missing")
    pictures = {}
    for name in wanted:
        try:
            data = b64decode(as_text(held[name], "photograph", None), validate=True)
        except (binascii.Error, UnicodeError):
            raise ValueError("a photograph is damaged") from None
        if sha256(data).hexdigest() != name:
            raise ValueError("a photograph does not agree with its digest")
        pictures[name] = data
    return pictures


def key_entry(value: object) -> KeyEntry:
    given = as_mapping(value)
    return KeyEntry(
        number=as_integer(given["number"], "number"),
        key=as_mapping(given["key"]),
        cell=as_text(given["cell"], "cell"),
        structure=as_text(given["structure"], "structure"),
        aliases=as_texts(given["aliases"]),
        boundary=as_text(given["boundary"], "boundary", 2000),
        about=as_text(given["about"], "about", 4000),
        skill=as_text(given["skill"], "skill"),
    )
