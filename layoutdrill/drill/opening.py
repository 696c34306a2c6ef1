"""
Open a sitting: on a deck or lesson, free practice, all lessons at once, today's plan, some skills, a rapid series; or
go on with one that was left. What is asked follows from the deck, the count and the seed alone.
"""

import json
import os
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Self, TypeVar

from layoutdrill import __version__
from layoutdrill.deck import Deck, deck_text, lesson_names, load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.drill.again import GLANCES, PLACEMENT, TODAY, keep_brought, makers_again
from layoutdrill.drill.asking import Maker
from layoutdrill.drill.plan import Draw, mixed, plan
from layoutdrill.drill.record import DamagedError, SittingRecord
from layoutdrill.drill.records import Records
from layoutdrill.errors import LayoutdrillError
from layoutdrill.locations import records_file
from layoutdrill.question import Specimen
from layoutdrill.value import value

if TYPE_CHECKING:
    from layoutdrill.drill.today import Wish

CHECK = "check"
"""The sort of a sitting on a deck that is kept for checking."""
PLACEMENT_EACH = 2
"""How many questions a placement test takes from each lesson, when nobody says."""

T = TypeVar("T", bound="Opening")


@value
class Begun:
    """A sitting as it begins: its sort, what is asked in which order, and what draws that, by the draws' groups."""

    sort: str
    deck: Deck
    draws: tuple[Draw, ...]
    seed: int
    makers: Mapping[str, SpecimenMaker]
    look: str | None = None
    kit: Path | None = None


class Opening(ABC):
    """The ways in which a sitting is opened; what it is then, `Sitting` says."""

    @abstractmethod
    def __init__(
        self,
        record: SittingRecord,
        records: Records,
        *,
        deck: Deck,
        maker: Maker,
    ) -> None: ...

    @classmethod
    def open_deck(
        cls,
        deck: Deck | Path | str,
        *,
        count: int | None = None,
        seed: int | None = None,
        kit: Path | None = None,
        look: str | None = None,
        records: Path | None = None,
    ) -> Self:
        """
        Open a sitting on a deck or lesson; without a seed, one is drawn.

        Raises LayoutdrillError: no such deck, an error in it, no kit, or records that cannot be written.
        """
        loaded = deck if isinstance(deck, Deck) else load_deck(deck)
        if not loaded.items:
            raise LayoutdrillError(f"{loaded.name} has no questions", todo="add “items:” to the deck")
        chosen = seed_or_any(seed)
        maker = SpecimenMaker(loaded, kit)
        maker.ready()
        keep_brought(loaded)
        group = loaded.name if loaded.lesson is not None else ""
        draws = plan(loaded, count or loaded.questions, chosen, maker.structure, group)
        sort = CHECK if loaded.kept else "lesson" if loaded.lesson is not None else "deck"
        if loaded.kept:
            draws = tuple(replace(draw, help=(), hints=()) for draw in draws)
        return opened(cls, Begun(sort, loaded, draws, chosen, {group: maker}, look, kit), records)

    @classmethod
    def open_placement(
        cls,
        *,
        each: int = PLACEMENT_EACH,
        seed: int | None = None,
        look: str | None = None,
        records: Path | None = None,
    ) -> Self:
        """Open a placement test: a few questions from every lesson, without help, all mixed."""
        chosen = seed_or_any(seed)
        makers: dict[str, SpecimenMaker] = {}
        draws: list[Draw] = []
        for name in lesson_names():
            lesson = load_deck(name)
            makers[name] = SpecimenMaker(lesson)
            hard = tuple(item for item in lesson.items if not item.help) or lesson.items
            bare = replace(lesson, items=tuple(replace(item, help=(), hints=()) for item in hard))
            draws.extend(plan(bare, each, chosen, makers[name].structure, name))
        if not draws:
            raise LayoutdrillError("there are no lessons to place you in", todo="install layoutdrill again")
        order = mixed(draws, Dice.from_text(f"placement {chosen}"))
        return opened(cls, Begun("placement", PLACEMENT, order, chosen, makers, look), records)

    @classmethod
    def open_today(
        cls,
        wish: "Wish | None" = None,
        *,
        seed: int | None = None,
        look: str | None = None,
        records: Path | None = None,
    ) -> Self:
        """Open what helps most just now, see `plan_today`: so many questions, or what fits into the minutes."""
        from layoutdrill.drill.today import NO_WISH, draws_of, plan_today  # noqa: PLC0415 - the scheduler, for a day's plan alone

        chosen = seed_or_any(seed)
        day = plan_today(datetime.now(UTC), wish or NO_WISH, seed=chosen, records=records)
        draws = draws_of(day.trials, Dice.from_text(f"today's drawings {chosen}"), day.begun)
        return opened(cls, Begun("today", TODAY, draws, chosen, {"": SpecimenMaker(TODAY)}, look), records)

    @classmethod
    def open_skills(cls, keys: Sequence[str], *, seed: int | None = None, records: Path | None = None) -> Self:
        """Open a few questions on one skill, or on some in turn."""
        from layoutdrill.drill.today import draws_of, plan_skills  # noqa: PLC0415 - as above

        chosen = seed_or_any(seed)
        trials = plan_skills(keys, datetime.now(UTC), records=records)
        draws = draws_of(trials, Dice.from_text(f"skills {chosen}"))
        return opened(cls, Begun("today", TODAY, draws, chosen, {"": SpecimenMaker(TODAY)}), records)

    @classmethod
    def open_glances(cls, *, seed: int | None = None, look: str | None = None, records: Path | None = None) -> Self:
        """Open a rapid series on what is mastered. Raises LayoutdrillError while nothing is."""
        from layoutdrill.drill.glances import must_have, plan_series  # noqa: PLC0415 - as above

        chosen = seed_or_any(seed)
        series = must_have(plan_series(datetime.now(UTC), seed=chosen, records=records))
        makers = {"": SpecimenMaker(GLANCES)}
        return opened(cls, Begun(GLANCES.name, GLANCES, series.draws, chosen, makers, look), records)

    @classmethod
    def open_survey(
        cls,
        cell: str,
        process: str = "",
        *,
        seed: int | None = None,
        look: str | None = None,
        records: Path | None = None,
    ) -> Self:
        """
        Open the survey of a chip's die: its steps from pads to behaviour. Slow: it draws the die. Raises
        LayoutdrillError for what is no chip, or a process that it is not drawn in.
        """
        from layoutdrill.drill import survey  # noqa: PLC0415 - few sittings are of a whole die

        fitting = survey.surveyed_processes(cell)
        if process and process not in fitting:
            raise LayoutdrillError(f"{cell} makes no sense in {process}", todo=f"choose {' or '.join(fitting)}")
        chosen = seed_or_any(seed)
        process = process or Dice.from_text(f"process {chosen}").pick(list(fitting))
        maker = survey.DieMaker()
        draws = survey.survey_draws(maker, cell, process, chosen % survey.MOST_SEEDS + 1)
        deck = replace(survey.SURVEY, title=survey.survey_title(cell, process))
        return opened(cls, Begun(survey.SORT, deck, draws, chosen, {"": maker}, look), records)

    @classmethod
    def resume(cls, number: int | None = None, *, records: Path | None = None) -> Self:
        """Go on with a sitting that was left, the newest when no number is given."""
        file = Records(records or records_file())
        try:
            if number is None:
                number = file.newest_unfinished()
            record = file.sitting(number)
            deck, makers = makers_again(record)
            return cls(record, file, deck=deck, maker=maker_of(makers))
        except DamagedError as error:
            if number is not None:
                file.finish(number)
            file.close()
            todo = "it is set aside; all other sittings are as they were"
            raise DamagedError(error.what, where=error.where, todo=todo) from None
        except LayoutdrillError:
            file.close()
            raise


def seed_or_any(given: int | None) -> int:
    return int.from_bytes(os.urandom(4)) >> 1 if given is None else given


def maker_of(makers: Mapping[str, SpecimenMaker]) -> Maker:
    """Return what draws the specimen of a draw, by the maker of its group."""

    def make(draw: Draw) -> Specimen:
        maker, drawing = makers[draw.group], (draw.cell, draw.process, draw.seed, draw.difficulty)
        return maker.part(*drawing, draw.part) if draw.part else maker.specimen(*drawing)

    return make


def opened(cls: type[T], begun: Begun, records: Path | None) -> T:
    """Write a sitting into the records and open it."""
    deck, draws = begun.deck, begun.draws
    if not draws:
        raise LayoutdrillError(f"{deck.name} has nothing that can be drawn", todo="choose other cells or processes")
    file = Records(records or records_file())
    try:
        number = file.add_sitting(
            sort=begun.sort,
            deck=deck.name,
            title=deck.title,
            deck_text=deck_text(deck) if deck.items else "",
            seed=begun.seed,
            total=len(draws),
            look=begun.look or deck.look,
            kit=str(begun.kit.absolute()) if begun.kit else "",
            version=__version__,
            plan=json.dumps([asdict(draw) for draw in draws]),
        )
        return cls(file.sitting(number), file, deck=deck, maker=maker_of(begun.makers))
    except BaseException:
        file.close()
        raise
