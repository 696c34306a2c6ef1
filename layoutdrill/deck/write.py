"""Write a deck as canonical YAML: one form for one meaning, which `read_deck` reads back to the same deck."""

import re
from collections.abc import Callable, Iterable
from typing import Any

from layoutdrill.cells import Cell
from layoutdrill.cells.compact import written
from layoutdrill.deck.model import Arrangement, Deck, Item, OwnLayout, Page, Picture
from layoutdrill.process import load_process

_BARE = re.compile(r"[A-Za-z][A-Za-z0-9_./()'+-]*( [A-Za-z0-9_./()'+-]+)*\Z")
_WORDS = {"null", "true", "false"}
_WIDTH = 100


def deck_text(deck: Deck) -> str:
    """Return the deck's canonical text; defaults are left out."""
    lines = [f"title: {scalar(deck.title)}", *_told("about", deck.about)]
    lines.extend(f"{key}: {scalar(text)}" for key, text in (("author", deck.author), ("licence", deck.licence)) if text)
    if deck.prerequisites:
        lines.append(f"prerequisites: {_flow(deck.prerequisites)}")
    if deck.lesson is not None:
        lines.append(f"lesson: {deck.lesson}")
    lines.extend(_told("objective", deck.objective))
    lines.extend(f"{key}: {scalar(value)}" for key, value in (("kit", deck.kit), ("look", deck.look)) if value)
    if deck.count is not None:
        lines.append(f"count: {deck.count}")
    if deck.kept:
        lines.append("kept for checking: true")
    lines.extend(_section("cells", (_cell(cell) for cell in deck.cells.values())))
    lines.extend(_section("layouts", (_layout(own) for own in deck.layouts.values())))
    lines.extend(_section("pages", (_page(page, deck) for page in deck.pages)))
    lines.extend(_section("items", (_item(item, deck) for item in deck.items)))
    return "\n".join(lines) + "\n"


def scalar(text: str) -> str:
    """Return one line of text as YAML, in quotes unless it is plain words."""
    if _BARE.match(text) and text not in _WORDS:
        return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
    return f'"{escaped}"'


def _section(key: str, entries: Iterable[list[str]]) -> list[str]:
    lines = [line for entry in entries for line in _listed(entry)]
    return [f"{key}:", *lines] if lines else []


def _listed(lines: list[str]) -> list[str]:
    """Make lines one entry of a list."""
    return [f"  - {lines[0]}", *(f"    {line}" if line else "" for line in lines[1:])]


def _told(key: str, text: str) -> list[str]:
    """Return a field of prose: on its line when short, else as a block."""
    if not text:
        return []
    if "\n" not in text and len(text) <= _WIDTH:
        return [f"{key}: {scalar(text)}"]
    if text != text.strip() or any(line != line.rstrip() or line.startswith((" ", "\t")) for line in text.split("\n")):
        return [f"{key}: {scalar(text)}"]
    return [f"{key}: |-", *(f"  {line}" if line else "" for line in text.split("\n"))]


def _flow(words: Iterable[str]) -> str:
    return "[" + ", ".join(scalar(word) for word in words) + "]"


def _item(item: Item, deck: Deck) -> list[str]:
    photographed = bool(item.cells) and item.cells[0] in deck.photographs
    lines = _photo(item.cells, deck) if photographed else [f"cells: {_flow(item.cells)}"]
    if not deck.kit and not photographed:
        lines.append(f"processes: {_flow(item.processes)}")
    if len(set(item.kinds)) < len(item.kinds):
        weights = ", ".join(f"{scalar(kind)}: {item.kinds.count(kind)}" for kind in dict.fromkeys(item.kinds))
        lines.append(f"kinds: {{{weights}}}")
    elif item.kinds:
        lines.append(f"kinds: {_flow(item.kinds)}")
    if not photographed:
        hardest = "" if item.hardest is None else _decimal(item.hardest)
        low = _decimal(item.difficulty)
        lines.append(f"difficulty: [{low}, {hardest}]" if hardest else f"difficulty: {low}")
        lines.extend(_one_or_more("wear", "" if item.wear is None else _decimal(item.wear), map(_decimal, item.wears)))
        several = ", ".join(map(str, item.seeds))
        lines.append(f"seed: [{several}]" if several else f"seed: {'fresh' if item.seed is None else item.seed}")
        lines.extend(_one_or_more("look", scalar(item.look) if item.look else "", map(scalar, item.looks)))
        lines.extend(_one_or_more("stage", scalar(item.stage) if item.stage else "", map(scalar, item.stages)))
    lines.extend(_told("words", item.words))
    lines.extend(_told("note", item.note))
    if item.hints:
        lines.append("hints:")
        lines.extend(f"  - {scalar(hint)}" for hint in item.hints)
    if item.help:
        lines.append(f"help: {_flow(step.value for step in item.help)}")
    if item.count is not None:
        lines.append(f"count: {item.count}")
    return lines


def _one_or_more(key: str, single: str, several: Iterable[str]) -> list[str]:
    """Return a field with its value, with several, or no field where it has none."""
    listed = ", ".join(several)
    return [f"{key}: [{listed}]"] if listed else [f"{key}: {single}"] if single else []


def _layout(own: OwnLayout) -> list[str]:
    lines = [f"name: {scalar(own.name)}", f"structure: {scalar(own.structure)}", f"process: {scalar(own.process)}"]
    roles = (f"complement of {port.complement_of}" if port.complement_of else port.role.value for port in own.ports)
    ports = ", ".join(f"{port.name}: {scalar(role)}" for port, role in zip(own.ports, roles, strict=True))
    lines.append(f"ports: {{{ports}}}")
    if own.aliases:
        lines.append(f"aliases: {_flow(own.aliases)}")
    for key, text in (("title", own.title), ("boundary", own.boundary), ("look for", own.about), ("cell", own.cell)):
        lines.extend(_told(key, text))
    for key, path in (("file", own.file), ("netlist", own.netlist)):
        if path is not None:
            lines.append(f"{key}: {scalar(str(path.absolute()))}")
    if own.drawn is not None:
        per = load_process(own.process).grid_per_lambda
        lines.append("shapes:")
        for layer, rects in own.drawn.shapes.items():
            corners = ("[" + ", ".join(_decimal(value / per) for value in rect) + "]" for rect in rects)
            lines.append(f"  {layer}: [{', '.join(corners)}]")
        if own.drawn.labels:
            lines.append("labels:")
        lines.extend(
            f"  {label.text}: [{label.layer}, {_decimal(label.x / per)}, {_decimal(label.y / per)}]"
            for label in own.drawn.labels
        )
    return lines


def _photo(names: Iterable[str], deck: Deck) -> list[str]:
    """Return the lines that name places on a photograph; its file by the whole path, which is found from anywhere."""
    places = [deck.photographs[name] for name in names]
    regions = [place.region for place in places if place.region]
    return [f"photo: {scalar(str(places[0].marks.absolute()))}", *([f"regions: {_flow(regions)}"] if regions else [])]


def _page(page: Page, deck: Deck) -> list[str]:
    kit = bool(deck.kit)
    lines = [f"title: {scalar(page.title)}", *_told("text", page.text)]
    if not page.pictures:
        return lines
    if page.arrangement is Arrangement.SIDE_BY_SIDE:
        lines.append("side by side:")
        for picture in page.pictures:
            lines.extend(_listed(_picture(picture, deck)))
        return lines
    if page.arrangement is Arrangement.BUILD_UP:
        first = page.pictures[0]
        lines.append("build up:")
        lines.extend(f"  {line}" for line in _source(first, kit=kit))
        lines.append("  steps:")
        shown = 0
        for picture in page.pictures:
            lines.append(f"    - add: {_flow(picture.layers[shown:])}")
            shown = len(picture.layers)
            lines.extend(f"      {line}" for line in _told("say", picture.caption))
            if picture.outline:
                lines.append(f"      outline: {picture.outline.value}")
        return lines
    return [*lines, "picture:", *(f"  {line}" for line in _picture(page.pictures[0], deck))]


def _pairs(pairs: Iterable[tuple[str, str]]) -> str:
    return "{" + ", ".join(f"{scalar(left)}: {scalar(right)}" for left, right in pairs) + "}"


def _source(picture: Picture, *, kit: bool) -> list[str]:
    lines = [f"cell: {scalar(picture.cell)}"]
    if not kit:
        lines.append(f"process: {scalar(picture.process)}")
    lines.append(f"seed: {picture.seed}")
    lines.append(f"difficulty: {_decimal(picture.difficulty)}")
    optional: dict[str, tuple[Any, Callable[[Any], str]]] = {
        "look": (picture.look, scalar),
        "decoy": (picture.decoy, scalar),
        "wear": (picture.wear, _decimal),
        "stage": (picture.stage, scalar),
        "section": (picture.section, str),
        "seam": (picture.seam, str),
        "closer": (picture.closer, str),
        "point out": (picture.pointed, _pairs),
        "nets": (picture.nets, _flow),
        "defect": (picture.defect, scalar),
        "turn": (picture.turn, str),
    }
    lines += [f"{word}: {form(value)}" for word, (value, form) in optional.items() if value]
    return lines


def _picture(picture: Picture, deck: Deck) -> list[str]:
    photographed = picture.cell in deck.photographs
    lines = _photo((picture.cell,), deck) if photographed else _source(picture, kit=bool(deck.kit))
    if picture.layers:
        lines.append(f"layers: {_flow(picture.layers)}")
    if picture.outline:
        lines.append(f"outline: {picture.outline.value}")
    lines.extend(_told("caption", picture.caption))
    return lines


def _decimal(number: float) -> str:
    return f"{number:.6f}".rstrip("0").rstrip(".")


def _cell(cell: Cell) -> list[str]:
    lines = [f"name: {scalar(cell.name)}", f"title: {scalar(cell.title)}", f"structure: {scalar(cell.structure)}"]
    if cell.aliases:
        lines.append(f"aliases: {_flow(cell.aliases)}")
    lines.append("ports:")
    for port in cell.ports:
        role = f"complement of {port.complement_of}" if port.complement_of else port.role.value
        lines.append(f"  {port.name}: {role}")
    if cell.function:
        lines.extend(["function: |", *(f"  {stage.text}" for stage in cell.function)])
    lines.extend(_told("does", cell.does))
    if cell.netlists:
        lines.append("netlist:")
        for style, netlist in cell.netlists.items():
            lines.append(f"  {style.value}: |")
            lines.extend(f"    {written(line)}" for line in netlist)
    elif cell.stages != cell.function:
        lines.extend(["stages: |", *(f"  {stage.text}" for stage in cell.stages)])
    lines.extend(_told("boundary", cell.boundary))
    lines.extend(_told("look for", cell.look_for))
    if cell.mistaken_for:
        lines.append("mistaken for:")
        lines.extend(f"  {other.cell}: {scalar(other.tell)}" for other in cell.mistaken_for)
    if cell.only:
        lines.append(f"processes: {_flow(cell.only)}")
    return lines
