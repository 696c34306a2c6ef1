"""Describe the deck format for editors, as JSON Schema, from the table by which decks are read."""

from collections.abc import Sequence
from typing import Any

from layoutdrill.deck import fields
from layoutdrill.deck.fields import Field
from layoutdrill.deck.known import drawn_processes, lights
from layoutdrill.deck.pages import STEPS
from layoutdrill.deck.read import KITS
from layoutdrill.picture.degrees import DEGREES
from layoutdrill.picture.looks import look_names
from layoutdrill.picture.stages import Stage
from layoutdrill.process import process_names
from layoutdrill.question import kinds

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def deck_schema() -> dict[str, Any]:
    """Return the schema of a deck file. What a deck can say wrong beyond its form, `layoutdrill check` tells."""
    return {
        "$schema": DRAFT,
        "title": "layoutdrill deck",
        **_object(fields.DECK),
        "$defs": {
            "kit": {"enum": list(KITS)},
            "look": _or_file(look_names()),
            "light": {"enum": list(lights())},
            "stage": {"enum": [stage.value for stage in Stage]},
            "process": _or_file(drawn_processes()),
            "any process": _or_file(process_names()),
            "kind": {"enum": list(kinds())},
            "help": {"enum": list(STEPS)},
            "degree": {"enum": list(DEGREES)},
            "cell": _object(fields.CELL),
            "layout": _object(fields.LAYOUT),
            "item": {"oneOf": [_object(fields.ITEM), _object(fields.PHOTO_ITEM)]},
            "page": _object(fields.PAGE),
            "picture": {"oneOf": [_object(fields.PICTURE), _object(fields.PHOTO_PICTURE)]},
            "build up": _object(fields.BUILD_UP),
            "step": _object(fields.STEP),
        },
    }


def _or_file(names: Sequence[str]) -> dict[str, Any]:
    """Return what describes a name that is known, or that of a file beside the deck."""
    return {"anyOf": [{"enum": list(names)}, {"type": "string", "pattern": "\\.ya?ml$"}]}


def _object(table: Sequence[Field]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {field.name: dict(field.form) for field in table},
        "required": list(fields.required(table)),
        "additionalProperties": False,
    }
