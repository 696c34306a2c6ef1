"""What marking with each tool means: how many places it takes, what is typed then, and the mark that comes of it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import hypot

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.netlist.roles import PORT_ROLES, Role
from layoutdrill.photo.model import (
    At,
    Contact,
    Layer,
    Mark,
    MarkedTransistor,
    Point,
    Port,
    Region,
    Repeat,
    Sort,
    Wire,
)
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value

LAYER_WORDS = {layer.value.replace(" ", ""): layer for layer in Layer}
KIND_WORDS: Mapping[str, tuple[Kind, Mode]] = {
    "n": (Kind.N, Mode.ENHANCEMENT),
    "p": (Kind.P, Mode.ENHANCEMENT),
    "nd": (Kind.N, Mode.DEPLETION),
    "pd": (Kind.P, Mode.DEPLETION),
}


@value
class Tool:
    """
    A tool: what its places are, in order; the last of them may come again and again where `open_ended`. `line` says
    what is typed when all places are there, "" where nothing is.
    """

    name: str
    places: tuple[str, ...]
    line: str
    make: Callable[[Sequence[At], str], Mark | None]
    open_ended: bool = False
    least: int = 0

    @property
    def fewest(self) -> int:
        return self.least or len(self.places)

    def next_place(self, count: int) -> str:
        """Say what to put down next after so many places, "" where no more is taken."""
        if count < len(self.places):
            return self.places[count]
        return self.places[-1] if self.open_ended else ""


def wire(places: Sequence[At], text: str) -> Mark:
    words = text.split()
    net, layer = _take(words, 2, "NET LAYER [WIDTH]")[:2]
    width = _number(words[2]) if len(words) > 2 else 0.0
    return Wire(net, layer_of(layer), tuple(places), width)


def point(places: Sequence[At], text: str) -> Mark:
    net, layer = _take(text.split(), 2, "NET LAYER")[:2]
    return Point(net, layer_of(layer), places[0])


def contact(places: Sequence[At], text: str) -> Mark:
    words = _take(text.split(), 3, "NET LAYER LAYER [SIZE]")
    order = list(Layer)
    layers = sorted((layer_of(word) for word in words[1:3]), key=_DEPTH.index)
    if layers[0] is layers[1]:
        raise LayoutdrillError(f"{layers[0]} is not joined to itself", todo=f"name two of {', '.join(order)}")
    return Contact(words[0], layers[0], layers[1], places[0], _number(words[3]) if len(words) > 3 else 0.0)


_DEPTH = (Layer.METAL_2, Layer.METAL, Layer.POLY, Layer.DIFFUSION, Layer.TAP)


def transistor(places: Sequence[At], text: str) -> Mark:
    words = _take(text.split(), 4, "KIND GATE END END [LENGTH WIDTH]")
    if words[0].lower() not in KIND_WORDS:
        raise LayoutdrillError(f'no kind of transistor "{words[0]}"', todo="n, p, or nd and pd of depletion mode")
    kind, mode = KIND_WORDS[words[0].lower()]
    size = (_number(words[4]), _number(words[5])) if len(words) > 5 else (0.0, 0.0)
    return MarkedTransistor("", kind, mode, words[1], (words[2], words[3]), (places[0], places[1], places[2]), size)


def port(places: Sequence[At], text: str) -> Mark:
    net, *rest = _take(text.split(), 2, "NET ROLE")
    role = " ".join(rest)
    known = [known_role.value for known_role in PORT_ROLES]
    if role not in known:
        raise LayoutdrillError(f'no role "{role}"', todo=did_you_mean(role, known))
    return Port(net, Role(role), places[0])


def region(places: Sequence[At], text: str) -> Mark:
    parts = [part.strip() for part in text.split(",")]
    if not parts[0]:
        raise LayoutdrillError("a region needs a name", todo="type NAME, STRUCTURE, what is marked in full")
    words = parts[2].split() if len(parts) > 2 else []
    known = [sort.value for sort in Sort]
    for word in words:
        if word not in known:
            raise LayoutdrillError(f'nothing called "{word}" is marked in full', todo=did_you_mean(word, known))
    return Region(
        parts[0], tuple(places), structure=parts[1] if len(parts) > 1 else "", complete=frozenset(map(Sort, words))
    )


def repeat(places: Sequence[At], text: str) -> Mark:
    """
    The places are one point of the marked cell and the same point of the last cell in its row; with more rows also of
    the last cell in its column: the pitch is measured over all of them.
    """
    first, *rest = [part.strip() for part in text.split(",")]
    words = _take(first.split(), 3, "REGION COLUMNS ROWS, shared NETS, rows NETS, columns NETS")
    columns, rows = int(_number(words[1])), int(_number(words[2]))
    (x, y), last = places[0], list(places[1:])
    pitches = []
    for count in (columns, rows):
        ax, ay = last.pop(0) if count > 1 and last else (x, y)
        pitches.append(((ax - x) / max(1, count - 1), (ay - y) / max(1, count - 1)))
    nets: dict[str, tuple[str, ...]] = {}
    for part in rest:
        word, *named = part.split()
        if word not in ("shared", "rows", "columns"):
            raise LayoutdrillError(f"“{word}” says nothing of nets", todo="begin with shared, rows or columns")
        nets[word] = tuple(named)
    for count, (dx, dy) in zip((columns, rows), pitches, strict=True):
        if count > 1 and abs(dx) + abs(dy) < 1:
            raise LayoutdrillError("the pitch is nothing", todo="put down the last cell of the row, then of the column")
    return Repeat(
        words[0], columns, rows, pitches[0], pitches[1],
        nets.get("shared", ()), nets.get("rows", ()), nets.get("columns", ()),
    )  # fmt: skip


def nothing(_places: Sequence[At], _text: str) -> None:
    return None


TOOLS: Mapping[str, Tool] = {
    tool.name: tool
    for tool in (
        Tool("wire", ("an end of the wire", "the next corner or its end"), "NET LAYER [WIDTH]", wire, open_ended=True),
        Tool("point", ("a place that lies on a net",), "NET LAYER", point),
        Tool("contact", ("the middle of a contact",), "NET LAYER LAYER", contact),
        Tool(
            "transistor",
            ("the middle of the gate over the channel", "one end", "the other end"),
            "KIND (n, p, nd, pd) GATE END END [LENGTH WIDTH]",
            transistor,
        ),
        Tool("port", ("where the port's name may stand",), "NET ROLE", port),
        Tool(
            "region",
            ("a corner of the region", "the opposite corner and f, or the next of a polygon"),
            "NAME, STRUCTURE, what of it is marked in full (contacts wires taps)",
            region,
            open_ended=True,
        ),
        Tool(
            "repeat",
            ("a point of the marked cell", "the same of the last in its row", "the same of the last in its column"),
            "REGION COLUMNS ROWS, shared NETS, rows NETS, columns NETS",
            repeat,
            least=2,
        ),
        Tool("measure", ("one point", "the other"), "how many λ, or steps of a pitch, that is (or nothing)", nothing),
        Tool("join", ("a point on the first picture", "the same point on the other"), "", nothing),
        Tool("remove", ("the mark to take away",), "the number of one of these", nothing),
        Tool("rename", (), "NET NEW-NAME", nothing),
    )
}


def measured(places: Sequence[At], text: str) -> tuple[str, float]:
    """Say how far two places lie apart, and in so many steps how large one is; return the step in pixels too."""
    (xa, ya), (xb, yb) = places[0], places[1]
    far = hypot(xb - xa, yb - ya)
    if not text.strip():
        return f"{far:.1f} px ({abs(xb - xa):.1f} across, {abs(yb - ya):.1f} down)", far
    steps = _number(text.split(maxsplit=1)[0])
    if steps <= 0:
        raise LayoutdrillError("a number above 0 is expected", todo="type how many steps lie between")
    return f"{far:.1f} px in {steps:g}: {far / steps:.2f} px each", far / steps


def suggested(tool: str, nets_here: Sequence[str], last: Mapping[str, str], free: Iterator[str]) -> str:
    """
    Return what is likely to be typed: nets that are marked at the places, else names that are `free`, each its own,
    and the layer or kind used last.
    """
    nets = [net or next(free) for net in nets_here]
    if tool == "transistor" and len(nets) >= 3:
        return f"{last.get('kind', 'n')} {nets[0]} {nets[1]} {nets[2]}"
    if tool in ("wire", "point"):
        named = next((net for net in nets_here if net), nets[0])
        return f"{named} {last.get(tool, 'metal')}"
    if tool == "contact":
        return f"{nets[0]} {last.get('contact', 'metal diffusion')}"
    if tool == "port" and nets_here[0]:  # where no net is marked, its name is for the author to say
        return f"{nets[0]} input"
    if tool == "remove":
        return "1"
    return ""


def remembered(tool: str, text: str) -> dict[str, str]:
    """Return what of a line is likely to be typed again."""
    words = text.split()
    if tool == "transistor" and words:
        return {"kind": words[0]}
    if tool in ("wire", "point", "contact") and len(words) > 1:
        return {tool: " ".join(words[1:])}
    return {}


def layer_of(word: str) -> Layer:
    layer = LAYER_WORDS.get(word.lower())
    if layer is None:
        raise LayoutdrillError(f'no layer "{word}"', todo=did_you_mean(word, LAYER_WORDS))
    return layer


def _take(words: Sequence[str], count: int, form: str) -> Sequence[str]:
    if len(words) < count:
        raise LayoutdrillError("something is missing", todo=f"type {form}")
    return words


def _number(word: str) -> float:
    try:
        figure = float(word)
    except ValueError:
        raise LayoutdrillError(f"“{word}” is no number", todo="type it in figures") from None
    if not -1e6 < figure < 1e6:
        raise LayoutdrillError(f"{word} is out of range", todo="type a smaller number")
    return figure
