"""Read the items of a deck: what is asked about, how it is drawn and lit, and with which words."""

from dataclasses import replace
from functools import partial
from typing import TypeVar

from layoutdrill.deck import fields as table
from layoutdrill.deck.known import Known, lights
from layoutdrill.deck.model import KIT_PROCESS, Item
from layoutdrill.deck.pages import STEPS, stages_in
from layoutdrill.deck.values import range_of, said, seeds_of, wear_of
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.picture.looks import PHOTOGRAPHIC, load_look
from layoutdrill.process import load_process
from layoutdrill.question import HintStep, kinds
from layoutdrill.value import value
from layoutdrill.yamldoc import Node

T = TypeVar("T")

MOST_QUESTIONS = 500
MOST_WEIGHT = 20
LIT = "reflected-light"
"""The look of an item that names stages and no light."""


@value
class Usual:
    """What holds for every item that does not say otherwise."""

    kinds: tuple[str, ...] = ()
    difficulty: tuple[float, float | None] = (0.3, None)
    wears: tuple[float, ...] = ()


def read_item(node: Node, known: Known, usual: Usual) -> Item:
    take = known.collect
    if isinstance(node.value, dict) and "photo" in node.value:
        fields = take.fields(node, table.required(table.PHOTO_ITEM), table.optional(table.PHOTO_ITEM))
        return _on_photograph(node, fields, known, usual)
    before = len(take.errors)
    fields = take.fields(node, table.required(table.ITEM), table.optional(table.ITEM))
    cells = tuple(name for names in take.entries(fields, "cells", known.cells_named) for name in names)
    if "cells" in fields and not cells and len(take.errors) == before:
        fields["cells"].fail("no cell is named", "list one or more, such as [nand2, nor2]")
    return _item(node, fields, known, usual, cells, _processes(node, fields, known, cells))


def _on_photograph(node: Node, fields: dict[str, Node], known: Known, usual: Usual) -> Item:
    """Read an item on a photograph: its process, and how it is drawn, are what they are."""
    names = known.places(fields)
    processes = tuple(dict.fromkeys(known.photographs[name].process for name in names))
    # How crowded and how worn it is, a photograph says itself.
    return replace(
        _item(node, fields, known, usual, names, processes), difficulty=0.0, hardest=None, wear=None, wears=()
    )


def _item(
    node: Node, fields: dict[str, Node], known: Known, usual: Usual, cells: tuple[str, ...], processes: tuple[str, ...]
) -> Item:
    take = known.collect
    difficulty, hardest = take.field(fields, "difficulty", range_of, usual.difficulty)
    fresh: tuple[int, ...] = ()
    seeds = take.field(fields, "seed", seeds_of, fresh)
    wears = take.entries(fields, "wear", wear_of) or usual.wears
    looks = _looks(fields, known)
    stages = _stages(fields, known, processes)
    if stages and not looks:
        looks = (LIT,)
    if stages and any(load_look(name).style not in PHOTOGRAPHIC for name in looks):
        what = "a drawn look shows no stage of removal"
        take.errors.append(LayoutdrillError(what, where=fields["stage"].where, todo="name a light, or leave one out"))
    return Item(
        cells=cells,
        processes=processes,
        kinds=read_kinds(fields, known) or usual.kinds,
        difficulty=difficulty,
        seed=seeds[0] if seeds else None,
        hints=_hints(fields, known),
        help=tuple(HintStep(word) for word in take.words(fields, "help", STEPS, "step of help")),
        count=take.field(fields, "count", lambda count: count.integer(1, MOST_QUESTIONS), None),
        wear=wears[0] if wears else None,
        hardest=hardest,
        seeds=_if_several(seeds),
        words=take.field(fields, "words", said, ""),
        note=take.field(fields, "note", said, ""),
        look=looks[0] if looks else "",
        stage=stages[0] if stages else "",
        wears=_if_several(wears),
        looks=_if_several(looks),
        stages=_if_several(stages),
        where=node.where,
    )


def _if_several(values: tuple[T, ...]) -> tuple[T, ...]:
    return values if len(values) > 1 else ()


def _looks(fields: dict[str, Node], known: Known) -> tuple[str, ...]:
    """Return the looks of an item's questions: by name, or by the light of a microscope."""
    if "look" in fields and "light" in fields:
        where = fields["light"].where
        known.collect.errors.append(LayoutdrillError("a light is a look", where=where, todo="leave one of the two out"))
    named = known.collect.entries(fields, "look", known.look)
    if named or "light" not in fields:
        return named
    return tuple(lights()[word] for word in known.collect.words(fields, "light", lights(), "light"))


def _stages(fields: dict[str, Node], known: Known, processes: tuple[str, ...]) -> tuple[str, ...]:
    """Return how far the dies are taken apart; a stage must mean something in each process."""
    if "stage" not in fields:
        return ()
    each = [stages_in(name) for name in processes] or [stages_in("")]
    common = [stage for stage in each[0] if all(stage in stages for stages in each)]
    return known.collect.words(fields, "stage", common, "stage in each of these processes")


def _hints(fields: dict[str, Node], known: Known) -> tuple[str, ...]:
    """Read the author's hints; several bare ones on one line are most likely one hint cut at its commas."""
    hints = known.collect.entries(fields, "hints", said)
    if "hints" in fields and isinstance(fields["hints"].value, tuple):
        bare = [node for node in fields["hints"].items() if not node.quoted]
        if len({node.where.line for node in bare}) < len(bare):
            known.collect.errors.append(
                LayoutdrillError(
                    "a comma inside [ ] starts another hint",
                    where=fields["hints"].where,
                    todo="put each hint in quotes, or on a line of its own after “- ”",
                )
            )
    return hints


def _processes(node: Node, fields: dict[str, Node], known: Known, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return the processes asked for, or all in which each cell makes sense; one that fits no cell is an error."""
    errors = known.collect.errors
    if known.kit:
        if "processes" in fields:
            where = fields["processes"].where
            errors.append(LayoutdrillError("a kit's cells have one process", where=where, todo="leave “processes” out"))
        return (KIT_PROCESS,)
    of_layouts = tuple(dict.fromkeys(known.layouts[name].process for name in names if name in known.layouts))
    wanted = known.processes_of(fields) or known.processes
    if of_layouts and not any(known.cell(name) for name in names):
        return of_layouts
    place = fields["processes"].where if "processes" in fields else node.where
    cells = [cell for name in names if (cell := known.cell(name))]
    for name in wanted:
        process = load_process(name)
        for cell in cells:
            if not cell.fits(process):
                what = f"{cell.name} makes no sense in {name}"
                errors.append(LayoutdrillError(what, where=place, todo="take it out, or name other processes"))
    if wanted:
        return wanted
    fitting = known.fitting(cells)
    if cells and not fitting:
        what = "no process can build all of these cells"
        errors.append(LayoutdrillError(what, where=node.where, todo="put them into several items"))
    return fitting if cells else ()


def read_kinds(fields: dict[str, Node], known: Known) -> tuple[str, ...]:
    """Read kinds of question: a list, or how often each is asked."""
    node = fields.get("kinds")
    if node is None or not isinstance(node.value, dict):
        return known.collect.words(fields, "kinds", kinds(), "kind of question")
    weighted: list[str] = []
    for (name, where), weight in zip(node.key_places, node.value.values(), strict=True):
        if name not in kinds():
            known.collect.errors.append(
                LayoutdrillError(f'no kind of question "{name}"', where=where, todo=did_you_mean(name, kinds()))
            )
            continue
        weighted += [name] * known.collect.attempt(partial(weight.integer, 1, MOST_WEIGHT), 1)
    return tuple(weighted)
