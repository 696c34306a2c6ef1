"""Describe the deck format for editors, as JSON Schema, from the table by which decks are read."""

from collections.abc import Sequence
from typing import Any

from layoutdrill.deck import fields
from layoutdrill.deck.fields import Field
from layoutdrill.deck.read import KITS, STEPS, drawn_processes
from layoutdrill.picture.degrees import DEGREES
from layoutdrill.picture.looks import look_names
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
            "look": {"enum": list(look_names())},
            "process": {"enum": list(drawn_processes())},
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


def _object(table: Sequence[Field]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {field.name: dict(field.form) for field in table},
        "required": list(fields.required(table)),
        "additionalProperties": False,
    }
