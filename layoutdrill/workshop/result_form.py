"""A learner's result as plain JSON, and back."""

from layoutdrill.workshop.model import Given, Result
from layoutdrill.workshop.plain_values import Json, as_integer, as_items, as_mapping, as_number, as_text, as_texts

_MOST_DRAFT = 20_000


def result_json(result: Result) -> Json:
    drafts = {str(number): text for number, text in result.drafts.items()}
    return ({"drafts": drafts} if drafts else {}) | {
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


def result_of(given: Json) -> Result:
    drafts = as_mapping(given.get("drafts", {}))
    return Result(
        set_digest=as_text(given["set"], "set"),
        title=as_text(given["title"], "title"),
        name=as_text(given["name"], "name"),
        started=as_text(given["started"], "started"),
        finished=as_text(given["finished"], "finished"),
        made_with=as_text(given["made with"], "made with"),
        answers=tuple(_given(as_mapping(each)) for each in as_items(given["answers"])),
        digest=as_text(given["digest"], "digest"),
        drafts={_number(name): as_text(draft, "draft", _MOST_DRAFT) for name, draft in drafts.items()},
    )


def _given(given: Json) -> Given:
    point = None
    if given["point"] is not None:
        x, y = as_items(given["point"])
        point = (as_integer(x, "point"), as_integer(y, "point"))
    confidence = given["confidence"]
    return Given(
        number=as_integer(given["number"], "number"),
        text=as_text(given["given"], "answer", 20_000),
        point=point,
        skipped=bool(given["skipped"]),
        seconds=as_number(given["seconds"], "seconds"),
        at=as_number(given["at"], "at"),
        hints=as_texts(given["hints"]),
        confidence=None if confidence is None else as_integer(confidence, "confidence"),
    )


def _number(name: str) -> int:
    if not name.isdecimal() or len(name) > 4:
        raise ValueError("a draft of no question")
    return int(name)
