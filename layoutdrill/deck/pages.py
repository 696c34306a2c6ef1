"""Read the pages of a deck: their text, and the pictures that are drawn live."""

from collections.abc import Sequence
from functools import cache, partial

from layoutdrill.deck import fields as table
from layoutdrill.deck.known import Known, drawn_processes
from layoutdrill.deck.model import KIT_PROCESS, Arrangement, Page, Picture
from layoutdrill.deck.values import said, section_of, wear_of
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process
from layoutdrill.question import HintStep
from layoutdrill.yamldoc import Node

STEPS = tuple(step.value for step in HintStep if step is not HintStep.WORDS)
"""What can be outlined on a picture, or shown of it from the start."""


def read_page(node: Node, known: Known) -> Page:
    take = known.collect
    arrangements = table.optional(table.PAGE)
    fields = take.fields(node, table.required(table.PAGE), arrangements)
    title, text = take.field(fields, "title", said, ""), take.field(fields, "text", said, "")
    given = [key for key in arrangements if key in fields]
    if len(given) > 1:
        fields[given[1]].fail("a page has one arrangement of pictures", f"leave “{given[0]}” or “{given[1]}” out")
    arrangement = Arrangement.ONE
    pictures: tuple[Picture, ...] = ()
    if given == ["picture"]:
        pictures = tuple(filter(None, [take.field(fields, "picture", partial(read_picture, known=known), None)]))
    elif given == ["build up"]:
        arrangement = Arrangement.BUILD_UP
        pictures = take.field(fields, "build up", partial(_build_up, known=known), ())
    elif given == ["side by side"]:
        arrangement = Arrangement.SIDE_BY_SIDE
        pictures = take.entries(fields, "side by side", partial(read_picture, known=known))
        listed = fields["side by side"].value
        if isinstance(listed, tuple) and len(listed) < 2:
            fields["side by side"].fail("one picture has nothing beside it", "list two or more")
    return Page(title, text, arrangement, pictures, node.where)


def read_picture(node: Node, known: Known, allowed: Sequence[table.Field] = table.PICTURE) -> Picture:
    take = known.collect
    if isinstance(node.value, dict) and "photo" in node.value:
        return _photograph(node, known)
    fields = take.fields(node, ("cell",), [field.name for field in allowed if field.name != "cell"])
    cell = take.field(fields, "cell", known.cell_name, "")
    process = _process(fields, cell, known)
    layers: tuple[str, ...] = ()
    if "layers" in fields:
        layers = take.words(fields, "layers", _layers(process), "layer")
    outline = take.field(fields, "outline", lambda value: value.word(STEPS, "outline"), None)
    return Picture(
        cell=cell,
        process=process,
        seed=take.field(fields, "seed", lambda value: value.integer(0), 1),
        difficulty=take.field(fields, "difficulty", lambda value: value.number(0, 1), 0.2),
        look=take.field(fields, "look", known.look, ""),
        layers=layers,
        outline=HintStep(outline) if outline else None,
        caption=take.field(fields, "caption", said, ""),
        decoy=take.field(fields, "decoy", lambda value: value.word(decoy_kinds(), "kind of decoy"), ""),
        wear=take.field(fields, "wear", wear_of, 0.0),
        stage=take.field(fields, "stage", lambda value: value.word(stages_in(process), "stage"), ""),
        section=take.field(fields, "section", section_of, ""),
        seam=take.field(fields, "seam", lambda value: value.integer(-table.MOST_JUMP, table.MOST_JUMP), 0),
        closer=take.field(fields, "closer", lambda value: value.integer(1, table.MOST_CLOSE), 0),
        pointed=take.field(fields, "point out", _pointed, ()),
        nets=take.field(fields, "nets", lambda value: _nets(value, cell, process, known), ()),
        defect=take.field(fields, "defect", _defect, ""),
        turn=take.field(fields, "turn", lambda value: value.integer(0, 7), 0),
        where=node.where,
    )


def _pointed(node: Node) -> tuple[tuple[str, str], ...]:
    """Read letters, and what each points at."""
    from layoutdrill.deck import pointing  # noqa: PLC0415 - few pages point at anything

    pointed = []
    for letter, value in node.mapping().items():
        what = said(value)
        if not (pointing.is_place(what) or pointing.are_devices(what)):
            forms = ", ".join(
                (*pointing.PLACES, *(f"{form}NET" if form.endswith(" ") else form for form in pointing.DEVICES))
            )
            value.fail(f"nothing called “{what}” can be pointed out", f"choose of {forms}")
        pointed.append((str(letter), what))
    return tuple(pointed)


def _nets(node: Node, cell: str, process: str, known: Known) -> tuple[str, ...]:
    """Read the names of nets that have one: ports, and the supplies of the process."""
    own = known.cell(cell) if cell else None
    ports = tuple(port.name for port in own.ports) if own else ()
    named = (*ports, *(load_process(process).rails if process else ()))
    nodes = node.items() if isinstance(node.value, tuple) else [node]
    return tuple(each.word(named, "port") for each in nodes) if ports else ()


def _defect(node: Node) -> str:
    from layoutdrill.deck import pointing  # noqa: PLC0415 - few pages show one

    what = said(node)
    if not pointing.is_defect(what):
        node.fail(f"no defect is called “{what}”", f"choose of {', '.join(pointing.DEFECTS)}")
    return what


def _photograph(node: Node, known: Known) -> Picture:
    """Read a page's photograph: a region of it, or its first."""
    take = known.collect
    fields = take.fields(node, table.required(table.PHOTO_PICTURE), table.optional(table.PHOTO_PICTURE))
    names = known.places(fields)
    outline = take.field(fields, "outline", lambda value: value.word(STEPS, "outline"), None)
    return Picture(
        cell=names[0] if names else "",
        process=known.photographs[names[0]].process if names else "",
        seed=0,
        outline=HintStep(outline) if outline else None,
        caption=take.field(fields, "caption", said, ""),
        where=node.where,
    )


def _process(fields: dict[str, Node], cell: str, known: Known) -> str:
    """Return the picture's process: its own, else the deck's first, else the first in which the cell fits."""
    if known.kit:
        return KIT_PROCESS
    own = known.cell(cell) if cell else None
    if "process" in fields:
        name = known.collect.field(fields, "process", known.drawn_process, "")
        if name and own and not own.fits(load_process(name)):
            what = f"{cell} makes no sense in {name}"
            known.collect.errors.append(
                LayoutdrillError(what, where=fields["process"].where, todo="name another process")
            )
        return name
    fitting = known.processes or drawn_processes()
    return next((name for name in fitting if own and own.fits(load_process(name))), "")


def _build_up(node: Node, known: Known) -> tuple[Picture, ...]:
    """Read a drawing in steps: each adds mask layers to those before it."""
    take = known.collect
    whole = read_picture(node, known, table.BUILD_UP)
    fields = node.mapping()
    if "steps" not in fields:
        node.fail('field "steps" is missing', "list them as “- {add: [active], say: …}”")
    layers: tuple[str, ...] = ()
    steps: list[Picture] = []
    for step in fields["steps"].items():
        inner = take.fields(step, table.required(table.STEP), table.optional(table.STEP))
        layers += take.words(inner, "add", _layers(whole.process), "layer")
        outline = take.field(inner, "outline", lambda value: value.word(STEPS, "outline"), None)
        steps.append(
            Picture(
                cell=whole.cell,
                process=whole.process,
                seed=whole.seed,
                difficulty=whole.difficulty,
                look=whole.look,
                wear=whole.wear,
                stage=whole.stage,
                closer=whole.closer,
                pointed=whole.pointed,
                nets=whole.nets,
                turn=whole.turn,
                layers=layers,
                outline=HintStep(outline) if outline else whole.outline,
                caption=take.field(inner, "say", said, ""),
                decoy=whole.decoy,
                where=step.where,
            )
        )
    return tuple(steps)


@cache
def decoy_kinds() -> tuple[str, ...]:
    """Return the ways in which one wire of a cell can be changed."""
    from layoutdrill.cells.edits import EDITS  # noqa: PLC0415 - few decks have a decoy

    return tuple(dict.fromkeys((*(name for name, _ in EDITS), "transistor added")))


def stages_in(process: str) -> tuple[str, ...]:
    from layoutdrill.picture.stages import Stage, stages_of  # noqa: PLC0415 - few decks name one
    from layoutdrill.process.films import load_films  # noqa: PLC0415 - only of a deck that shows a cut

    if not process:
        return tuple(stage.value for stage in Stage)
    rules = load_process(process)
    return tuple(stage.value for stage in stages_of(rules, load_films(rules)))


def _layers(process: str) -> tuple[str, ...]:
    return tuple(load_process(process).layers) if process else ()
