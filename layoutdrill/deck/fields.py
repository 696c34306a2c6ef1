"""
The fields of a deck, each once: the loader takes their names from here, an editor's schema is made of them, and the
author's guide must tell every one.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from layoutdrill.value import value

MOST_JUMP = 10
"""λ by which the two halves of a picture with a seam may jump."""

MOST_CLOSE = 16
"""Half-pixels per λ at which a page's picture may open."""

Form = Mapping[str, Any]

TEXT: Form = {"type": "string"}
FLAG: Form = {"type": "boolean"}
PART: Form = {"type": "number", "minimum": 0, "maximum": 1}
COUNT: Form = {"type": "integer", "minimum": 1, "maximum": 500}
SEED: Form = {"type": "integer", "minimum": 0}


def some(form: Form) -> Form:
    """Return one or a list of them."""
    return {"anyOf": [form, {"type": "array", "items": form}]}


def of(name: str) -> Form:
    """Return what is described under a name of its own."""
    return {"$ref": f"#/$defs/{name}"}


def each(name: str) -> Form:
    return {"type": "array", "items": of(name)}


@value
class Field:
    """A field: its name, what a schema says of its value, whether it must be there."""

    name: str
    form: Form
    required: bool = False


WEAR: Form = {"anyOf": [PART, of("degree")]}
SEEDS: Form = {"anyOf": [some(SEED), {"const": "fresh"}]}
RANGE: Form = {"anyOf": [PART, {"type": "array", "items": PART, "minItems": 2, "maxItems": 2}]}
WEIGHTED: Form = {
    "anyOf": [some(of("kind")), {"type": "object", "additionalProperties": {"type": "integer", "minimum": 1}}]
}
PLACE: Form = {"type": "array", "items": {"type": "number"}}
WORDS: Form = {"type": "object", "additionalProperties": TEXT}

DECK: tuple[Field, ...] = (
    Field("title", TEXT, required=True),
    Field("about", TEXT, required=True),
    Field("format", {"const": 1}),
    Field("author", TEXT),
    Field("licence", TEXT),
    Field("prerequisites", some(TEXT)),
    Field("lesson", {"type": "integer", "minimum": 1, "maximum": 999}),
    Field("objective", TEXT),
    Field("kit", of("kit")),
    Field("look", of("look")),
    Field("count", COUNT),
    Field("kept for checking", FLAG),
    Field("processes", some(of("process"))),
    Field("kinds", WEIGHTED),
    Field("difficulty", RANGE),
    Field("wear", some(WEAR)),
    Field("cells", each("cell")),
    Field("layouts", each("layout")),
    Field("pages", each("page")),
    Field("items", each("item")),
)

_ASKED: tuple[Field, ...] = (
    Field("kinds", WEIGHTED),
    Field("words", TEXT),
    Field("note", TEXT),
    Field("hints", some(TEXT)),
    Field("help", some(of("help"))),
    Field("count", COUNT),
)
ITEM: tuple[Field, ...] = (
    Field("cells", some(TEXT), required=True),
    Field("processes", some(of("process"))),
    Field("difficulty", RANGE),
    Field("seed", SEEDS),
    Field("look", some(of("look"))),
    Field("light", some(of("light"))),
    Field("stage", some(of("stage"))),
    Field("wear", some(WEAR)),
    *_ASKED,
)
PHOTO_ITEM: tuple[Field, ...] = (Field("photo", TEXT, required=True), Field("regions", some(TEXT)), *_ASKED)

PAGE: tuple[Field, ...] = (
    Field("title", TEXT, required=True),
    Field("text", TEXT, required=True),
    Field("picture", of("picture")),
    Field("build up", of("build up")),
    Field("side by side", each("picture")),
)
_SOURCE: tuple[Field, ...] = (
    Field("cell", TEXT, required=True),
    Field("process", of("process")),
    Field("seed", SEED),
    Field("difficulty", PART),
    Field("look", of("look")),
    Field("outline", of("help")),
    Field("caption", TEXT),
    Field("decoy", TEXT),
    Field("wear", WEAR),
    Field("stage", of("stage")),
    Field("section", {"anyOf": [{"const": "auto"}, {"type": "number"}]}),
    Field("seam", {"type": "integer", "minimum": -MOST_JUMP, "maximum": MOST_JUMP}),
    Field("closer", {"type": "integer", "minimum": 1, "maximum": MOST_CLOSE}),
    Field("point out", {"type": "object", "additionalProperties": TEXT}),
    Field("nets", some(TEXT)),
    Field("defect", TEXT),
    Field("turn", {"type": "integer", "minimum": 0, "maximum": 7}),
)
PICTURE: tuple[Field, ...] = (*_SOURCE, Field("layers", some(TEXT)))
PHOTO_PICTURE: tuple[Field, ...] = (
    Field("photo", TEXT, required=True),
    Field("regions", some(TEXT)),
    Field("outline", of("help")),
    Field("caption", TEXT),
)
STEP: tuple[Field, ...] = (
    Field("add", some(TEXT), required=True),
    Field("say", TEXT),
    Field("outline", of("help")),
)
BUILD_UP: tuple[Field, ...] = (*_SOURCE, Field("steps", each("step"), required=True))

LAYOUT: tuple[Field, ...] = (
    Field("name", TEXT, required=True),
    Field("structure", TEXT, required=True),
    Field("process", of("any process"), required=True),
    Field("ports", WORDS, required=True),
    Field("title", TEXT),
    Field("aliases", some(TEXT)),
    Field("boundary", TEXT),
    Field("look for", TEXT),
    Field("file", TEXT),
    Field("cell", TEXT),
    Field("netlist", TEXT),
    Field("shapes", {"type": "object", "additionalProperties": {"type": "array", "items": PLACE}}),
    Field("labels", {"type": "object", "additionalProperties": {"type": "array"}}),
)
CELL: tuple[Field, ...] = (
    Field("name", TEXT, required=True),
    Field("title", TEXT, required=True),
    Field("structure", TEXT, required=True),
    Field("ports", WORDS, required=True),
    Field("look for", TEXT, required=True),
    Field("aliases", some(TEXT)),
    Field("function", TEXT),
    Field("does", TEXT),
    Field("stages", TEXT),
    Field("netlist", {"anyOf": [TEXT, WORDS]}),
    Field("spice", TEXT),
    Field("boundary", TEXT),
    Field("mistaken for", WORDS),
    Field("processes", some(of("process"))),
)
"""As `cells/library.py` reads an entry."""


def required(fields: Sequence[Field]) -> tuple[str, ...]:
    return tuple(field.name for field in fields if field.required)


def optional(fields: Sequence[Field]) -> tuple[str, ...]:
    return tuple(field.name for field in fields if not field.required)
