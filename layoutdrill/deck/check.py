"""Check a deck: read it, and prove that each of its items can be shown and asked."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import product
from pathlib import Path

from layoutdrill.deck.belongings import unnamed_files
from layoutdrill.deck.files import deck_path, read_file
from layoutdrill.deck.model import Deck, Item, Picture
from layoutdrill.deck.own_cells import check_own_cells
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.picture.looks import Look, load_look
from layoutdrill.process import load_process
from layoutdrill.question import ask_in_look, fitting_kinds, kinds
from layoutdrill.question.model import Specimen

WORTH_SPREADING = 24
"""Pictures and items from which several processes prove them sooner than one."""
TRIED_SEED = 1
"""Fresh items are proved with this seed; what a seed says it says on every machine."""


def check_deck(
    path_or_name: str | Path,
    *,
    kit: Path | None = None,
    progress: Callable[[int, int], None] | None = None,
    cores: int = 1,
) -> list[LayoutdrillError]:
    """
    Return every error of a deck, each with its place: first what is wrong with the file, and when that is nothing,
    what the deck's own cells say against their transistors, and every item and picture that cannot be drawn, proved
    or asked. `progress` is told after each picture and item how many have been proved, on so many `cores`.
    """
    try:
        path = deck_path(path_or_name)
    except LayoutdrillError as error:
        return [error]
    deck, errors = read_file(path)
    if errors:
        return errors
    errors_found, trials, wrong = _claims(deck, path, kit)
    if cores > 1 and len(trials) >= WORTH_SPREADING:
        return errors_found + _spread(path, kit, wrong, len(trials), cores, progress)
    for done, trial in enumerate(trials, 1):
        errors_found += trial()
        if progress:
            progress(done, len(trials))
    return errors_found


def first_error(
    deck: Deck, path: Path, kit: Path | None, unwanted: Callable[[], bool] = lambda: False
) -> LayoutdrillError | None:
    """
    Return what `check_deck` tells first of a deck that was read without an error, None where all holds.

    `unwanted` is asked between items; once it says so, the rest is left.
    """
    errors_found, trials, _ = _claims(deck, path, kit)
    for trial in trials:
        if errors_found or unwanted():
            break
        errors_found += trial()
    return errors_found[0] if errors_found else None


Trial = Callable[[], Iterator[LayoutdrillError]]


def _claims(deck: Deck, path: Path, kit: Path | None) -> tuple[list[LayoutdrillError], list[Trial], set[str]]:
    """Return what the author says that is not so, what tries the items and pictures, and the cells told to be wrong."""
    maker = SpecimenMaker(deck, kit, checked=True)
    try:
        maker.files_ready()
    except LayoutdrillError as error:
        return [_placed(error, Where(str(path)))], [], set()
    wrong = {
        name: cell_errors
        for name, cell in deck.cells.items()
        if (cell_errors := list(check_own_cells({name: cell}, path)))
    }
    errors_found = [error for cell_errors in wrong.values() for error in cell_errors]
    if deck.photographs:
        from layoutdrill.deck.check_photographs import check_photographs  # noqa: PLC0415 - few decks have one

        errors_found += check_photographs(deck, maker.album())
    errors_found += _layouts(deck)
    return errors_found, _trials(deck, maker, set(wrong)), set(wrong)


Told = tuple[str, Where | None, str]
_HELD: list[Trial] = []
"""The trials of the deck that a process of its own proves a share of."""


def _hold(path: Path, kit: Path | None, wrong: set[str]) -> None:
    deck, _ = read_file(path)
    _HELD[:] = _trials(deck, SpecimenMaker(deck, kit, checked=True), wrong)


def _try(number: int) -> list[Told]:
    return [(error.what, error.where, error.todo) for error in _HELD[number]()]


def _spread(
    path: Path, kit: Path | None, wrong: set[str], count: int, cores: int, progress: Callable[[int, int], None] | None
) -> list[LayoutdrillError]:
    """Prove on several cores, each process with the deck of its own; errors come in the order of the deck."""
    from concurrent.futures import ProcessPoolExecutor, as_completed  # noqa: PLC0415 - few decks are so large

    by_number: dict[int, list[Told]] = {}
    with ProcessPoolExecutor(cores, initializer=_hold, initargs=(path, kit, wrong)) as pool:
        waiting = {pool.submit(_try, number): number for number in range(count)}
        for done, future in enumerate(as_completed(waiting), 1):
            by_number[waiting[future]] = future.result()
            if progress:
                progress(done, count)
    return [LayoutdrillError(w, where=at, todo=todo) for number in range(count) for w, at, todo in by_number[number]]


def deck_warnings(path_or_name: str | Path) -> list[LayoutdrillError]:
    """
    Return what is odd about a deck without an error, and may be meant: items never asked, marks that hang, files that
    nothing names.
    """
    path = deck_path(path_or_name)
    deck, _ = read_file(path)
    warnings = []
    for item, share in zip(deck.items, _shares(deck), strict=True):
        if not share:
            what = f"of {deck.questions} questions none comes from this item"
            warnings.append(LayoutdrillError(what, where=item.where, todo="raise “count”, of the deck or the item"))
    if deck.photographs:
        from layoutdrill.deck.check_photographs import warnings_of  # noqa: PLC0415 - few decks have one
        from layoutdrill.photo.read import load_marks  # noqa: PLC0415 - the same

        for marks in dict.fromkeys(place.marks for place in deck.photographs.values()):
            warnings += warnings_of(load_marks(marks))
    return [*warnings, *unnamed_files(deck, path)]


def _shares(deck: Deck) -> list[int]:
    """Return how many questions of a usual sitting each item gives, largest remainder first."""
    weights = [item.count or 1 for item in deck.items]
    whole = sum(weights)
    exact = [deck.questions * weight / whole for weight in weights]
    dealt = [int(part) for part in exact]
    for i in sorted(range(len(exact)), key=lambda i: (dealt[i] - exact[i], i))[: deck.questions - sum(dealt)]:
        dealt[i] += 1
    return dealt


def _layouts(deck: Deck) -> Iterator[LayoutdrillError]:
    """Tell what is wrong with the deck's own layouts."""
    from layoutdrill.deck.check_layouts import check_layout  # noqa: PLC0415 - few decks bring one

    for own in deck.layouts.values():
        yield from check_layout(own)


def _once(by_process: Sequence[tuple[str, LayoutdrillError]]) -> Iterator[LayoutdrillError]:
    """Tell once what is wrong in several processes alike, and in which; each error comes with its process."""
    alike: dict[tuple[str, str, str], list[tuple[str, LayoutdrillError]]] = {}
    for process, error in by_process:
        key = (str(error.where), error.what.replace(process, "\0"), error.todo)
        alike.setdefault(key, []).append((process, error))
    for (_, _, todo), errors in alike.items():
        (_, first), *others = errors
        also = f" (the same in {', '.join(process for process, _ in others)})" if others else ""
        yield LayoutdrillError(f"{first.what}{also}", where=first.where, todo=todo)


def _trials(deck: Deck, maker: SpecimenMaker, wrong: set[str]) -> list[Trial]:
    """Return what tries each picture and item, but those of cells that are `wrong`: that is told already."""
    trials: list[Trial] = []
    for page in deck.pages:
        for picture in page.pictures[:1] if page.arrangement == "build up" else page.pictures:
            trials += [partial(_picture, picture, maker)] if picture.cell not in wrong else []
    for item in deck.items:
        trials += [partial(_item, item, cell, maker) for cell in item.cells if cell not in wrong]
    return trials


def _picture(picture: Picture, maker: SpecimenMaker) -> Iterator[LayoutdrillError]:
    try:
        maker.picture(picture)
    except LayoutdrillError as error:
        yield _placed(error, picture.where)


def _item(item: Item, cell: str, maker: SpecimenMaker) -> Iterator[LayoutdrillError]:
    tried = ((process, error) for process in item.processes for error in _in_process(item, cell, process, maker))
    yield from _once(tuple(tried))


def _in_process(item: Item, cell: str, process: str, maker: SpecimenMaker) -> Iterator[LayoutdrillError]:
    if not maker.deck.suits(cell, load_process(process)):
        return  # only where the item names no process of its own, and takes those that fit
    seed = TRIED_SEED if item.seed is None else item.seed
    try:
        specimen = maker.specimen(cell, process, seed, item.difficulty)
    except LayoutdrillError as error:
        yield _placed(error, item.where)
        return
    usual = load_look(maker.deck.look) if maker.deck.look else None
    looks: list[Look | None] = [load_look(name) for name in item.looks or (item.look,) if name]
    for look, stage in product(looks or [usual], item.stages or (item.stage,)):
        yield from _questions(item, replace(specimen, stage=stage), look)


def _questions(item: Item, specimen: Specimen, look: Look | None) -> Iterator[LayoutdrillError]:
    """Tell the kinds that cannot ask anything about the specimen, or not in the deck's look."""
    if not item.kinds and not fitting_kinds(specimen, look):
        yield LayoutdrillError(
            f"nothing can be asked about {specimen.cell}", where=item.where, todo="choose another cell"
        )
    for name in item.kinds:
        if ask_in_look(kinds()[name], specimen, Dice(TRIED_SEED), look) is None:
            what, todo = f"“{name}” cannot be asked about {specimen.cell}", "take the kind or the cell out"
            if specimen.face.follows_light:
                what += f" in {specimen.process.name}"
                hides = _hides(name, specimen, look)
                if hides:
                    what, todo = f"{what} {hides}", "take that, the kind or the cell out"
            else:
                what += " as it is marked"
                todo = (
                    "mark what the kind needs, all of it, and say so in the region; or take the kind or the region out"
                )
            yield LayoutdrillError(what, where=item.where, todo=todo)


def _hides(name: str, specimen: Specimen, look: Look | None) -> str:
    """Say which of stage and look hides what a kind needs, "" where it is neither alone."""
    kind, dice = kinds()[name], Dice(TRIED_SEED)
    if specimen.stage and ask_in_look(kind, replace(specimen, stage=""), dice, look) is not None:
        return f"at the stage “{specimen.stage}”"
    if look is not None and ask_in_look(kind, specimen, dice, None) is not None:
        return f"in the look “{look.title}”"
    return ""


def _placed(error: LayoutdrillError, where: Where) -> LayoutdrillError:
    """Say where in the deck an error arose whose own place is elsewhere, or nowhere."""
    own = f" ({error.where})" if error.where else ""
    return LayoutdrillError(f"{error.what}{own}", where=where, todo=error.todo)
