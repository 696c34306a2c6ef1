"""Read a deck from YAML, telling every error in it with its place."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

from layoutdrill.cells import Cell, cell_names, find_cell, load_cell
from layoutdrill.cells.library import read_cell
from layoutdrill.deck import fields as table
from layoutdrill.deck.model import KIT_PROCESS, Arrangement, Deck, Item, OwnLayout, Page, Photographed, Picture
from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.locations import shipped
from layoutdrill.picture.degrees import DEGREES
from layoutdrill.picture.looks import look_names
from layoutdrill.process import load_process, process_names
from layoutdrill.question import HintStep, kinds
from layoutdrill.yamldoc import Document, Node
from layoutdrill.yamldoc.collect import Collector

KITS = ("sky130_fd_sc_hd",)
FRESH = "fresh"
MOST_QUESTIONS = 500
FORMAT = 1
"""The version of the deck format; a deck that says none is of the first."""
MOST_WEIGHT = 20
MOST_IN_A_ROW = 40

STEPS = tuple(step.value for step in HintStep if step is not HintStep.WORDS)


def read_deck(document: Document, name: str, folder: Path | None = None) -> tuple[Deck, list[LayoutdrillError]]:
    """
    Return the deck as far as it can be read, and every error in it, in the order of the lines. `folder` is where the
    files lie that it names: that of the document where none is given.
    """
    reader = _Reader(name, folder or Path(document.file).parent)
    deck = reader.deck(document.root)
    errors = sorted(reader.collect.errors, key=_place)
    return deck, errors


def _place(error: LayoutdrillError) -> tuple[int, int]:
    where = error.where or Where("")
    return where.line or 0, where.column or 0


class _Reader:
    def __init__(self, name: str, folder: Path) -> None:
        self.name = name
        self.folder = folder
        self.photographs: dict[str, Photographed] = {}
        self.places: dict[Path, tuple[str, ...] | None] = {}
        """The places of each mark file that was read, None of one that cannot be: that is told once."""
        self.collect = Collector()
        self.own: dict[str, Cell] = {}
        self.named: set[str] = set()
        """The deck's own cells by name, also those that cannot be read: that is told once, where they are."""
        self.kit = ""
        self.default_processes: tuple[str, ...] = ()
        self.default_kinds: tuple[str, ...] = ()
        self.default_difficulty: tuple[float, float | None] = (0.3, None)
        self.layouts: dict[str, OwnLayout] = {}
        self.default_wear: float | None = None

    def deck(self, root: Node) -> Deck:
        take = self.collect
        fields = take.fields(root, table.required(table.DECK), table.optional(table.DECK))
        if "format" in fields and fields["format"].value != FORMAT:
            what = f"format {fields['format'].raw} of decks is not known here"
            take.errors.append(
                LayoutdrillError(what, where=fields["format"].where, todo=f"this version reads {FORMAT}")
            )
        if "items" not in fields and "pages" not in fields and isinstance(root.value, dict):
            take.errors.append(
                LayoutdrillError("a deck with nothing in it", where=root.where, todo="add “items:” or “pages:”")
            )
        self.named = _names_of(fields.get("cells"))
        for cell in take.entries(fields, "cells", lambda node: read_cell(node, "of this deck", lookup=load_cell)):
            if cell.name in self.own or cell.name in cell_names():
                what = f'there is a cell "{cell.name}" already'
                take.errors.append(LayoutdrillError(what, where=cell.where, todo="choose another name"))
            self.own[cell.name] = cell
        for own in take.entries(fields, "layouts", self.own_layout):
            self.layouts[own.name] = own
        # A kit by a wrong name is still a kit: its cells are not the library's.
        self.kit = take.field(fields, "kit", lambda node: node.word(KITS, "kit"), KITS[0] if "kit" in fields else "")
        self.default_processes = self.processes(fields)
        self.default_kinds = self.kinds(fields)
        usual: tuple[float, float | None] = (0.3, None)
        self.default_difficulty = take.field(fields, "difficulty", range_of, usual)
        self.default_wear = take.field(fields, "wear", wear_of, None)
        lesson = take.field(fields, "lesson", lambda node: node.integer(1, 999), None)
        if lesson is not None and "objective" not in fields:
            take.errors.append(
                LayoutdrillError(
                    "a lesson has no objective",
                    where=fields["lesson"].where,
                    todo="add “objective:”, what one will be able to do",
                )
            )
        if lesson is not None and "kept for checking" in fields:
            where = fields["kept for checking"].where
            self.collect.errors.append(
                LayoutdrillError("a lesson is there to practise", where=where, todo="take one of the two out")
            )
        return Deck(
            name=self.name,
            title=take.field(fields, "title", said, ""),
            about=take.field(fields, "about", said, ""),
            objective=take.field(fields, "objective", said, ""),
            lesson=lesson,
            kit=self.kit,
            look=take.field(fields, "look", lambda node: node.word(look_names(), "look"), ""),
            count=take.field(fields, "count", lambda node: node.integer(1, MOST_QUESTIONS), None),
            kept=take.field(fields, "kept for checking", Node.boolean, False),
            cells=self.own,
            pages=take.entries(fields, "pages", self.page),
            items=take.entries(fields, "items", self.item),
            photographs=self.photographs,
            layouts=self.layouts,
            author=take.field(fields, "author", said, ""),
            licence=take.field(fields, "licence", said, ""),
            prerequisites=take.words(fields, "prerequisites", shipped_names(), "lesson or deck that ships"),
        )

    def kinds(self, fields: dict[str, Node]) -> tuple[str, ...]:
        """Read kinds of question: a list, or how often each is asked."""
        node = fields.get("kinds")
        if node is None or not isinstance(node.value, dict):
            return self.collect.words(fields, "kinds", kinds(), "kind of question")
        found: list[str] = []
        for (name, where), weight in zip(node.key_places, node.value.values(), strict=True):
            if name not in kinds():
                self.collect.errors.append(
                    LayoutdrillError(f'no kind of question "{name}"', where=where, todo=did_you_mean(name, kinds()))
                )
                continue
            found += [name] * self.collect.attempt(partial(weight.integer, 1, MOST_WEIGHT), 1)
        return tuple(found)

    def own_layout(self, node: Node) -> OwnLayout:
        from layoutdrill.deck.layouts import read_own_layout  # noqa: PLC0415 - few decks bring one

        own = read_own_layout(node, self.folder)
        if own.name in self.own or own.name in self.layouts or own.name in cell_names():
            node.fail(f'there is a cell "{own.name}" already', "choose another name")
        return own

    def processes(self, fields: dict[str, Node]) -> tuple[str, ...]:
        return self.collect.words(fields, "processes", drawn_processes(), "process to draw in")

    def cell_name(self, node: Node) -> str:
        """Read a cell's name; a kit's own cells are known only when the kit is there, so any name will do."""
        if self.kit:
            return node.text()
        name = node.text()
        if name in self.own or name in self.named or name in self.layouts:
            return name
        try:
            found = find_cell(name)
        except LayoutdrillError as error:
            told = error
            node.fail(told.what, lambda: told.todo)
        if found is None:
            node.fail(f'no cell "{name}"', lambda: did_you_mean(name, (*self.own, *self.named, *every_name())))
        return name

    def cell(self, name: str) -> Cell | None:
        if self.kit or name in self.layouts or (name in self.named and name not in self.own):
            return None
        return self.own.get(name) or load_cell(name)

    def places_asked(self, fields: dict[str, Node]) -> tuple[str, ...]:
        nothing: tuple[str, ...] = ()
        return self.collect.attempt(lambda: self.photographed(fields), nothing) if "photo" in fields else nothing

    def photographed(self, fields: dict[str, Node]) -> tuple[str, ...]:
        """Return the places that “photo” and “regions” name, by the names that stand for them among cells."""
        from layoutdrill.deck.photographs import marks_file, read_marks_file  # noqa: PLC0415 - few decks have one

        path = marks_file(fields["photo"], self.folder)
        if path not in self.places:
            self.places[path] = None
            found, errors = read_marks_file(path)
            if errors:
                self.collect.errors += errors
                return ()
            self.photographs |= found
            self.places[path] = tuple(found)
        names = self.places[path] or ()
        known = [self.photographs[name].region for name in names]
        if "regions" in fields and names:
            wanted = self.collect.words(fields, "regions", known, "region")
            names = tuple(name for name in names if self.photographs[name].region in wanted)
        return names

    def photo_item(self, node: Node, fields: dict[str, Node]) -> Item:
        """Read an item on a photograph: its process, and how it is drawn, are what they are."""
        names = self.places_asked(fields)
        processes = tuple(dict.fromkeys(self.photographs[name].process for name in names))
        # How crowded and how worn it is, a photograph says itself.
        return replace(self.made_item(node, fields, names, processes), difficulty=0.0, hardest=None, wear=None)

    def item(self, node: Node) -> Item:
        take = self.collect
        if isinstance(node.value, dict) and "photo" in node.value:
            return self.photo_item(
                node, take.fields(node, table.required(table.PHOTO_ITEM), table.optional(table.PHOTO_ITEM))
            )
        before = len(take.errors)
        fields = take.fields(node, table.required(table.ITEM), table.optional(table.ITEM))
        cells = tuple(name for names in take.entries(fields, "cells", self.cells_named) for name in names)
        if "cells" in fields and not cells and len(take.errors) == before:
            fields["cells"].fail("no cell is named", "list one or more, such as [nand2, nor2]")
        return self.made_item(node, fields, cells, self.item_processes(node, fields, cells))

    def made_item(
        self, node: Node, fields: dict[str, Node], cells: tuple[str, ...], processes: tuple[str, ...]
    ) -> Item:
        take = self.collect
        difficulty, hardest = take.field(fields, "difficulty", range_of, self.default_difficulty)
        fresh: tuple[int, ...] = ()
        seeds = take.field(fields, "seed", seeds_of, fresh)
        return Item(
            cells=cells,
            processes=processes,
            kinds=self.kinds(fields) or self.default_kinds,
            difficulty=difficulty,
            seed=seeds[0] if seeds else None,
            hints=self.hints(fields),
            help=tuple(HintStep(word) for word in take.words(fields, "help", STEPS, "step of help")),
            count=take.field(fields, "count", lambda one: one.integer(1, MOST_QUESTIONS), None),
            wear=take.field(fields, "wear", wear_of, self.default_wear),
            hardest=hardest,
            seeds=seeds if len(seeds) > 1 else (),
            words=take.field(fields, "words", said, ""),
            note=take.field(fields, "note", said, ""),
            look=take.field(fields, "look", lambda one: one.word(look_names(), "look"), ""),
            where=node.where,
        )

    def cells_named(self, node: Node) -> tuple[str, ...]:
        """Read the name of a cell, or of a row of them such as nand2..nand4."""
        first, dots, last = node.text().partition("..")
        if not dots or self.kit:
            return (self.cell_name(node),)
        stem, low = _numbered(first)
        other, high = _numbered(last if not last.isdigit() else stem + last)
        if not stem or stem != other or not 0 <= low < high <= low + MOST_IN_A_ROW:
            node.fail(f"“{node.text()}” is no row of cells", "write it as nand2..nand4")
        return tuple(self.cell_name(Node(f"{stem}{number}", node.where)) for number in range(low, high + 1))

    def hints(self, fields: dict[str, Node]) -> tuple[str, ...]:
        """Read the author's hints; several bare ones on one line are most likely one hint cut at its commas."""
        found = self.collect.entries(fields, "hints", said)
        if "hints" in fields and isinstance(fields["hints"].value, tuple):
            bare = [node for node in fields["hints"].items() if not node.quoted]
            if len({node.where.line for node in bare}) < len(bare):
                self.collect.errors.append(
                    LayoutdrillError(
                        "a comma inside [ ] starts another hint",
                        where=fields["hints"].where,
                        todo="put each hint in quotes, or on a line of its own after “- ”",
                    )
                )
        return found

    def item_processes(self, node: Node, fields: dict[str, Node], cells: tuple[str, ...]) -> tuple[str, ...]:
        """Return the processes asked for, or all in which each cell makes sense; one that fits no cell is an error."""
        take = self.collect
        if self.kit:
            if "processes" in fields:
                take.errors.append(
                    LayoutdrillError(
                        "a kit's cells have one process", where=fields["processes"].where, todo="leave “processes” out"
                    )
                )
            return (KIT_PROCESS,)
        brought = tuple(dict.fromkeys(self.layouts[name].process for name in cells if name in self.layouts))
        wanted = self.processes(fields) or self.default_processes
        if brought and not any(self.cell(name) for name in cells):
            return brought
        place = fields["processes"].where if "processes" in fields else node.where
        known = [cell for name in cells if (cell := self.cell(name))]
        for name in wanted:
            process = load_process(name)
            for cell in known:
                if not cell.fits(process):
                    what = f"{cell.name} makes no sense in {name}"
                    take.errors.append(LayoutdrillError(what, where=place, todo="take it out, or name other processes"))
        if wanted:
            return wanted
        fitting = tuple(name for name in drawn_processes() if all(cell.fits(load_process(name)) for cell in known))
        if known and not fitting:
            what = "no process can build all of these cells"
            take.errors.append(LayoutdrillError(what, where=node.where, todo="put them into several items"))
        return fitting if known else ()

    def page(self, node: Node) -> Page:
        take = self.collect
        arrangements = table.optional(table.PAGE)
        fields = take.fields(node, table.required(table.PAGE), arrangements)
        title, text = take.field(fields, "title", said, ""), take.field(fields, "text", said, "")
        given = [key for key in arrangements if key in fields]
        if len(given) > 1:
            fields[given[1]].fail("a page has one arrangement of pictures", f"leave “{given[0]}” or “{given[1]}” out")
        arrangement = Arrangement.ONE
        pictures: tuple[Picture, ...] = ()
        if given == ["picture"]:
            pictures = tuple(filter(None, [take.field(fields, "picture", self.picture, None)]))
        elif given == ["build up"]:
            arrangement = Arrangement.BUILD_UP
            pictures = take.field(fields, "build up", self.build_up, ())
        elif given == ["side by side"]:
            arrangement = Arrangement.SIDE_BY_SIDE
            pictures = take.entries(fields, "side by side", self.picture)
            listed = fields["side by side"].value
            if isinstance(listed, tuple) and len(listed) < 2:
                fields["side by side"].fail("one picture has nothing beside it", "list two or more")
        return Page(title, text, arrangement, pictures, node.where)

    def picture(self, node: Node, known: Sequence[table.Field] = table.PICTURE) -> Picture:
        take = self.collect
        if isinstance(node.value, dict) and "photo" in node.value:
            return self.photo_picture(node)
        fields = take.fields(node, ("cell",), [field.name for field in known if field.name != "cell"])
        cell = take.field(fields, "cell", self.cell_name, "")
        process = self.picture_process(fields, cell)
        layers: tuple[str, ...] = ()
        if "layers" in fields:
            layers = take.words(fields, "layers", _layers(process), "layer")
        outline = take.field(fields, "outline", lambda one: one.word(STEPS, "outline"), None)
        return Picture(
            cell=cell,
            process=process,
            seed=take.field(fields, "seed", lambda one: one.integer(0), 1),
            difficulty=take.field(fields, "difficulty", lambda one: one.number(0, 1), 0.2),
            look=take.field(fields, "look", lambda one: one.word(look_names(), "look"), ""),
            layers=layers,
            outline=HintStep(outline) if outline else None,
            caption=take.field(fields, "caption", said, ""),
            decoy=take.field(fields, "decoy", lambda one: one.word(decoy_kinds(), "kind of decoy"), ""),
            wear=take.field(fields, "wear", wear_of, 0.0),
            stage=take.field(fields, "stage", lambda one: one.word(_stages(process), "stage"), ""),
            section=take.field(fields, "section", section_of, ""),
            seam=take.field(fields, "seam", lambda node: node.integer(-table.MOST_JUMP, table.MOST_JUMP), 0),
            where=node.where,
        )

    def photo_picture(self, node: Node) -> Picture:
        """Read a page's photograph: a region of it, or its first."""
        take = self.collect
        fields = take.fields(node, table.required(table.PHOTO_PICTURE), table.optional(table.PHOTO_PICTURE))
        names = self.places_asked(fields)
        outline = take.field(fields, "outline", lambda one: one.word(STEPS, "outline"), None)
        return Picture(
            cell=names[0] if names else "",
            process=self.photographs[names[0]].process if names else "",
            seed=0,
            outline=HintStep(outline) if outline else None,
            caption=take.field(fields, "caption", said, ""),
            where=node.where,
        )

    def picture_process(self, fields: dict[str, Node], cell: str) -> str:
        """Return the picture's process: its own, else the deck's first, else the first in which the cell fits."""
        if self.kit:
            return KIT_PROCESS
        own = self.cell(cell) if cell else None
        if "process" in fields:
            name = self.collect.field(
                fields, "process", lambda one: one.word(drawn_processes(), "process to draw in"), ""
            )
            if name and own and not own.fits(load_process(name)):
                what = f"{cell} makes no sense in {name}"
                self.collect.errors.append(
                    LayoutdrillError(what, where=fields["process"].where, todo="name another process")
                )
            return name
        fitting = self.default_processes or drawn_processes()
        return next((name for name in fitting if own and own.fits(load_process(name))), "")

    def build_up(self, node: Node) -> tuple[Picture, ...]:
        """Read a drawing in steps: each adds mask layers to those before it."""
        take = self.collect
        whole = self.picture(node, table.BUILD_UP)
        fields = node.mapping()
        if "steps" not in fields:
            node.fail('field "steps" is missing', "list them as “- {add: [active], say: …}”")
        layers: tuple[str, ...] = ()
        found: list[Picture] = []
        for step in fields["steps"].items():
            inner = take.fields(step, table.required(table.STEP), table.optional(table.STEP))
            layers += take.words(inner, "add", _layers(whole.process), "layer")
            outline = take.field(inner, "outline", lambda one: one.word(STEPS, "outline"), None)
            found.append(
                Picture(
                    cell=whole.cell,
                    process=whole.process,
                    seed=whole.seed,
                    difficulty=whole.difficulty,
                    look=whole.look,
                    wear=whole.wear,
                    stage=whole.stage,
                    layers=layers,
                    outline=HintStep(outline) if outline else whole.outline,
                    caption=take.field(inner, "say", said, ""),
                    decoy=whole.decoy,
                    where=step.where,
                )
            )
        return tuple(found)


@cache
def drawn_processes() -> tuple[str, ...]:
    """Return the processes in which cells are drawn: all but the kit's, which has layouts of its own."""
    return tuple(name for name in process_names() if name != KIT_PROCESS)


@cache
def decoy_kinds() -> tuple[str, ...]:
    """Return the ways in which one wire of a cell can be changed."""
    from layoutdrill.cells.edits import EDITS  # noqa: PLC0415 - few decks have a decoy

    return tuple(dict.fromkeys((*(name for name, _ in EDITS), "transistor added")))


def every_name() -> tuple[str, ...]:
    """Return the names of all cells of the library, and of arrays of the usual sizes."""
    from layoutdrill.cells.arrays import array_names  # noqa: PLC0415 - few decks have arrays

    return (*cell_names(), *array_names())


def _names_of(node: Node | None) -> set[str]:
    """Return the names of a list of cells, whatever else is wrong with them."""
    found: set[str] = set()
    if node is not None and isinstance(node.value, tuple):
        for entry in node.items():
            name = entry.mapping().get("name") if isinstance(entry.value, dict) else None
            if name is not None and isinstance(name.value, str):
                found.add(name.value)
    return found


def said(node: Node) -> str:
    """Read text that says something."""
    text = node.text().strip()
    if not text:
        node.fail("the text is empty", "write something, or leave the line out")
    return text


def wear_of(node: Node) -> float:
    """Read a wear, by name or as a number from 0 to 1."""
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        return node.number(0, 1)
    return DEGREES[node.word(tuple(DEGREES), "wear")]


def range_of(node: Node) -> tuple[float, float | None]:
    """Read a difficulty, or the lowest and the highest of a range."""
    if not isinstance(node.value, tuple):
        return node.number(0, 1), None
    ends = [one.number(0, 1) for one in node.items()]
    if len(ends) != 2 or ends[0] > ends[1]:
        node.fail("a range is two numbers, the lower first", "write it as [0.2, 0.6]")
    return ends[0], ends[1]


def seeds_of(node: Node) -> tuple[int, ...]:
    """Read a seed or several; () for fresh drawings."""
    if isinstance(node.value, tuple):
        return tuple(one.integer(0) for one in node.items())
    seed = seed_of(node)
    return () if seed is None else (seed,)


def _numbered(name: str) -> tuple[str, int]:
    """Return a name's stem and the number at its end; -1 where there is none, or a long one."""
    stem = name.rstrip("0123456789")
    figures = name[len(stem) :]
    return stem, int(figures) if 0 < len(figures) <= 4 else -1


@cache
def shipped_names() -> tuple[str, ...]:
    """Return the names of the decks and lessons that ship."""
    folder = shipped("decks")
    return tuple(sorted(path.stem for path in (*folder.glob("*.yaml"), *folder.glob("lessons/*.yaml"))))


def seed_of(node: Node) -> int | None:
    if node.value == FRESH:
        return None
    if not isinstance(node.value, int) or isinstance(node.value, bool):
        node.fail(f"a seed or “{FRESH}” expected, {node.sort} found", "give a whole number, or fresh")
    return node.integer(0)


def section_of(node: Node) -> str:
    """Read where a picture is cut: “auto”, or a height y in λ."""
    if isinstance(node.value, int | float) and not isinstance(node.value, bool):
        return f"{node.number(-100_000, 100_000):g}"
    return node.word(("auto",), "section")


def _stages(process: str) -> tuple[str, ...]:
    from layoutdrill.picture.stages import Stage, stages_of  # noqa: PLC0415 - few decks name one
    from layoutdrill.process.films import load_films  # noqa: PLC0415 - only of a deck that shows a cut

    if not process:
        return tuple(stage.value for stage in Stage)
    found = load_process(process)
    return tuple(stage.value for stage in stages_of(found, load_films(found)))


def _layers(process: str) -> tuple[str, ...]:
    return tuple(load_process(process).layers) if process else ()
