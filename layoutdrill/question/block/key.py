"""What a question on the plan of a die keeps, and how one is made of it."""

from collections.abc import Mapping, Sequence

from layoutdrill.dice import Dice
from layoutdrill.face.materials import Material
from layoutdrill.geometry.rect import Rect
from layoutdrill.question.hints import hints
from layoutdrill.question.keys import Key
from layoutdrill.question.model import HintStep, Mark, Question, Specimen
from layoutdrill.question.places import apart, places_on
from layoutdrill.units import GridUnits
from layoutdrill.value import value

KIND = "block"
MARKS = "PQRS"
APART = 24
"""λ that marks keep from one another, so that no letter covers another where a whole die is in sight."""
_WIRES = 4
"""Pieces of a net, the longest first, on which a place for its mark is looked for."""
_HINTS = hints((HintStep.RAILS, HintStep.DEVICES), {HintStep.RAILS: 0.1, HintStep.DEVICES: 0.1})


@value
class BlockKey(Key):
    """
    What is asked; the right letter, letters or number as text; the `areas` where a place is right, and those of other
    parts with their names; what decides, and where that is.

    `would` says of a wrong choice, mark or part what is there, where that is told; `half` are the choices that are half
    right, and `numbers` other numbers that are half right, with what they are. `field` is what a part that repeats is
    called, `cells` what repeats in it.
    """

    shown = ("what", "choices", "known")
    what: str
    right: str
    decides: str
    choices: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    areas: tuple[Rect, ...] = ()
    others: dict[str, Rect] | None = None
    places: tuple[tuple[int, int], ...] = ()
    tolerance: int = 0
    would: dict[str, str] | None = None
    half: tuple[str, ...] = ()
    numbers: dict[str, str] | None = None
    field: str = ""
    cells: tuple[Rect, ...] = ()


def block_question(
    specimen: Specimen,
    prompt: str,
    key: BlockKey,
    marks: tuple[Mark, ...] = (),
    facts: tuple[str, ...] = (),
    *,
    pointed: bool = False,
) -> Question:
    return Question(
        kind=KIND,
        prompt=prompt,
        specimen=specimen,
        choices=key.choices,
        facts=facts,
        marks=marks,
        key=key,
        pointed=pointed,
        hints=_HINTS,
    )


@value
class FourMarks:
    """
    Four places on a die, one of which is meant: `says` completes a letter to a choice, `right` is the letter of the
    one meant, `places` (grid units) and what lies there (`would`) are by the letters. `more` are marks that are none
    of the four; the four are rings where what they are on is small.
    """

    what: str
    prompt: str
    says: str
    right: str
    places: Mapping[str, tuple[GridUnits, GridUnits]]
    would: Mapping[str, str]
    decides: str
    more: Sequence[Mark] = ()
    areas: tuple[Rect, ...] = ()
    ring: bool = False


def chosen_mark(specimen: Specimen, asked: FourMarks) -> Question:
    """Ask which of four marks is right."""
    said = {letter: f"{letter} {asked.says}" for letter in MARKS}
    key = BlockKey(
        asked.what,
        said[asked.right],
        asked.decides,
        tuple(said.values()),
        areas=asked.areas,
        places=(asked.places[asked.right],),
        would={said[letter]: words for letter, words in asked.would.items() if letter != asked.right},
    )
    marks = tuple(Mark(letter, *asked.places[letter], ring=asked.ring) for letter in MARKS)
    return block_question(specimen, asked.prompt, key, (*marks, *asked.more))


def on_nets(specimen: Specimen, nets: Sequence[str], dice: Dice) -> dict[str, tuple[int, int]] | None:
    """Return a place on the longest metal of each net, by the letter of its mark; None where one has none."""
    scene = specimen.face.scene
    places: dict[str, tuple[int, int]] = {}
    for letter, net in zip(MARKS, nets, strict=True):
        wires = [w for w in scene.wires if w.net == net and w.material is Material.METAL]
        longest = sorted(wires, key=lambda w: (-max(w.rect.width, w.rect.height), w.rect))
        spots = [place for wire in longest[:_WIRES] for place in places_on(scene, [wire], dice)]
        clear = [place for place in spots if apart(place, places.values(), APART * scene.unit)]
        if not spots:
            return None
        places[letter] = (clear or spots)[0]
    return places
