"""What stands beside a photograph that is being marked: what to do next, what there is, what is odd."""

from collections.abc import Sequence

from textual.suggester import Suggester

from layoutdrill.errors import LayoutdrillError, plural
from layoutdrill.extract.model import Finding
from layoutdrill.face.unit import Unit
from layoutdrill.photo.joining import LEAST, joined
from layoutdrill.photo.model import Mark, Marks
from layoutdrill.photo.taking import called
from layoutdrill.screens.marking import Tool

MOST_ODDITIES = 8


class Names(Suggester):
    """Complete the last word of the line by names that are known."""

    def __init__(self) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self.known: tuple[str, ...] = ()

    async def get_suggestion(self, value: str) -> str | None:
        head, space, last = value.rpartition(" ")
        if not last or last in self.known:
            return None
        return next((f"{head}{space}{name}" for name in self.known if name.startswith(last) and name != last), None)


def tool_lines(tool: Tool | None, places: int, marks: Marks, *, typing: bool = False) -> list[str]:
    """Say what the tool in hand waits for, with so many places put down; or which tools there are."""
    if tool is None:
        lines = ["Choose a tool: w wire, d point, c contact, t transistor, a port, r region.", ""]
        return lines + (["o hides the marks, and shows them again.", ""] if marks.transistors or marks.wires else [])
    lines = [f"{tool.name}: {tool.next_place(places) or tool.line}"]
    if places >= tool.fewest and tool.line and not typing:
        lines += [f"f: that is all of it; then type {tool.line}" if tool.open_ended else f"f: type {tool.line}"]
    return [*lines, ""]


def marks_lines(marks: Marks) -> list[str]:
    """Count what is marked, and say how far each further picture is off."""
    counted = (
        (marks.transistors, "transistor"), (marks.wires, "wire"), (marks.contacts, "contact"),
        (marks.points, "point"), (marks.ports, "port"), (marks.regions, "region"), (marks.repeats, "repeat"),
    )  # fmt: skip
    lines = [", ".join(plural(len(sort), noun) for sort, noun in counted if sort) or "nothing is marked yet"]
    for picture in marks.pictures[1:]:
        try:
            # through three points an affine map always goes, so that it says nothing to be 0 px off
            off = f"joined, {joined(marks, picture).residual:.2f} px off"
            few = sum(join.picture == picture.file for join in marks.joins) == LEAST
            lines.append(f"{picture.file}: {'joined; a fourth point shows how far it is off' if few else off}")
        except LayoutdrillError as error:
            lines.append(f"{picture.file}: {error.what}")
    return lines


def near_lines(near: Sequence[Mark]) -> list[str]:
    """Number the marks near a place, the nearest first, to choose from."""
    return [f"{number}  {called(mark)}" for number, mark in enumerate(near, 1)]


def oddity_lines(oddities: Sequence[Finding], beside: Sequence[str], unit: Unit) -> list[str]:
    """Say what is odd about the marks, and how they differ from the netlists beside them."""
    lines = ["", "Look again:"] if oddities or beside else []
    lines += [f"· {odd.text} ({unit.at(*odd.place.centre)})" for odd in oddities[:MOST_ODDITIES]]
    more = len(oddities) - MOST_ODDITIES
    lines += [f"· and {more} more"] if more > 0 else []
    return lines + [f"· {difference}" for difference in beside[:MOST_ODDITIES]]
