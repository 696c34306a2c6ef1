"""Small files that ask for much: each is a name, the files, the command, and words of the answer that is wanted."""

import io
import json
import struct
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial

from layoutdrill.layout.gdsrecords import Record, pack_real8, record
from layoutdrill.process.load import DATA

GZIP_HEAD = b"\x1f\x8b\x08" + bytes(6) + b"\xff"
"""Packed by deflate, no name, no time, no system (RFC 1952, 2.3)."""
ZERO = b"/dev/zero"
"""Stands for a link to the endless device."""
DECK_HEAD = "title: t\nabout: a\nitems:\n"


def put(files, folder):
    """Write a bomb's files into a folder; what is large is made now."""
    for name, given in files.items():
        data = given() if callable(given) else given
        path = folder / name
        path.unlink(missing_ok=True)
        if data == ZERO:
            path.symlink_to("/dev/zero")
        else:
            path.write_bytes(data)


@dataclass(frozen=True)
class Bomb:
    name: str
    command: tuple[str, ...]
    """Words of the command line; the names of `files` stand for their paths."""
    wanted: str
    files: dict[str, bytes | Callable[[], bytes]] = field(default_factory=dict)
    code: int = 2


def gds(*cells):
    """A stream of cells, each (name, elements)."""
    head = record(Record.HEADER, 2, b"\0\5") + record(Record.BGNLIB, 2, bytes(24)) + record(Record.LIBNAME, 6, b"l")
    head += record(Record.UNITS, 5, pack_real8(1e-3) + pack_real8(1e-9))
    body = b"".join(
        record(Record.BGNSTR, 2, bytes(24))
        + record(Record.STRNAME, 6, name)
        + b"".join(parts)
        + record(Record.ENDSTR, 0)
        for name, parts in cells
    )
    return head + body + record(Record.ENDLIB, 0)


def layered(kind, sort, layer, *rest):
    number = struct.pack(">h", layer)
    return record(kind, 0) + record(Record.LAYER, 2, number) + record(sort, 2, struct.pack(">h", 20)) + b"".join(rest)


def xy(*points):
    return record(Record.XY, 3, b"".join(struct.pack(">ii", *point) for point in points))


def boundary(*points):
    return layered(Record.BOUNDARY, Record.DATATYPE, 68, xy(*points, points[0]), record(Record.ENDEL, 0))


SQUARE = boundary((0, 0), (100, 0), (100, 100), (0, 100))


def placed(name, at=(0, 0)):
    return record(Record.SREF, 0) + record(Record.SNAME, 6, name) + xy(at) + record(Record.ENDEL, 0)


def array(name, columns, rows, across, up):
    size = record(Record.COLROW, 2, struct.pack(">hh", columns, rows))
    corners = xy((0, 0), (across * columns, 0), (0, up * rows))
    return record(Record.AREF, 0) + record(Record.SNAME, 6, name) + size + corners + record(Record.ENDEL, 0)


def label(layer, text, at=(0, 0)):
    number = struct.pack(">h", layer)
    head = record(Record.TEXT, 0) + record(Record.LAYER, 2, number) + record(Record.TEXTTYPE, 2, struct.pack(">h", 5))
    return head + xy(at) + record(Record.STRING, 6, text) + record(Record.ENDEL, 0)


def levels(count, inner):
    """Cells in cells, each placing the one below twice."""
    cells = [(b"c0", [inner])]
    cells += [(b"c%d" % k, [placed(b"c%d" % (k - 1)), placed(b"c%d" % (k - 1), (7, 0))]) for k in range(1, count + 1)]
    return gds(*cells)


def grate(slots):
    """A plate with slots from below, and long slots from the right over all of these: each cut crosses each edge."""
    wide = 20 * slots + 20
    points = [(0, 0)]
    for slot in range(slots):
        x = 20 * slot + 10
        points += [(x, 0), (x, wide), (x + 10, wide), (x + 10, 0)]
    points += [(wide, 0)]
    for slot in range(slots):
        y = wide + 20 * slot + 10
        points += [(wide, y), (5, y), (5, y + 10), (wide, y + 10)]
    return gds((b"c", [boundary(*points, (wide, 2 * wide), (0, 2 * wide))]))


def subcircuits(count, device=""):
    parts = [f".subckt s{at} a\nX1 a s{at + 1}\nX2 a s{at + 1}\n.ends" for at in range(count)]
    return "\n".join([*parts, f".subckt s{count} a\n{device}\n.ends\n"]).encode()


def deck(text):
    return (DECK_HEAD + text).encode()


def own_cells(count):
    cell = "  - {{name: c{0}, title: t, ports: {{a: input, y: output}}, function: y = !a, structure: x, look for: l}}\n"
    return (
        "title: t\nabout: a\ncells:\n"
        + "".join(cell.format(number) for number in range(count))
        + "items: [{cells: [c0], kinds: [name]}]\n"
    ).encode()


def inverters(count):
    """A row of inverters."""
    pair = "Mn{0} n{1} n{0} vss vss nmos\nMp{0} n{1} n{0} vdd vdd pmos"
    row = "\n".join(pair.format(k, k + 1) for k in range(count))
    return f".subckt s n0 n{count} vdd vss\n{row}\n.ends\n".encode()


def series(count):
    """One path of so many transistors, all of whose gates matter, with a load."""
    inputs = " ".join(f"g{k}" for k in range(count))
    chain = "\n".join(f"M{k} n{k} g{k} {f'n{k + 1}' if k < count - 1 else 'vss'} vss nmos" for k in range(count))
    return f".subckt s n0 vdd vss {inputs}\n{chain}\nML vdd n0 n0 vss nmosd\n.ends\n".encode()


def joined(count):
    """A transistor whose ends are one net, by a chain of metal resistors."""
    chain = "\n".join(f"R{k} n{k} n{k + 1} short" for k in range(count))
    return f"* t\n{chain}\nM1 n0 g n{count} x nmos\n".encode()


def zipped(size):
    """Return one gzip member of that many zeros: a piece packed once behind a full flush, written often, no sum."""
    piece = 10_000_000
    packer = zlib.compressobj(wbits=-15)
    packed = packer.compress(bytes(piece)) + packer.flush(zlib.Z_FULL_FLUSH)
    return GZIP_HEAD + packed * (size // piece) + packer.flush() + bytes(8)


def bombs():
    """Yield every bomb; refusals should take less than a second and 200 MB."""
    yield Bomb("aliases", ("check", "d.yaml"), "is not allowed", {"d.yaml": deck("- &a [x, x]\n- *a\n")})
    nodes = "more than 50,000 keys and values"
    yield Bomb("a million entries", ("check", "d.yaml"), nodes, {"d.yaml": deck("- a\n" * 480_000)})
    yield Bomb("a flow of commas", ("check", "d.yaml"), nodes, {"d.yaml": deck("- [" + "a," * 980_000 + "]\n")})
    yield Bomb(
        "simple keys", ("check", "d.yaml"), nodes, {"d.yaml": "".join(f"k{n}: 1\n" for n in range(190_000)).encode()}
    )
    yield Bomb("dashes", ("check", "d.yaml"), "nested deeper than", {"d.yaml": b"- " * 990_000})
    yield Bomb("brackets", ("check", "d.yaml"), "nested deeper than", {"d.yaml": b"[" * 1_990_000})
    yield Bomb("over 2 MB", ("check", "d.yaml"), "larger than 2,000,000 bytes", {"d.yaml": b"# x\n" * 600_000})
    yield Bomb(
        "escape in a title",
        ("check", "d.yaml"),
        "cannot be printed",
        {"d.yaml": b'title: "\\e]0;x\\a"\nabout: a\nitems: []\n'},
    )
    pitch = "whose pitch is nothing"
    yield Bomb(
        "zero pitch",
        ("extract", "x.gds"),
        pitch,
        {"x.gds": gds((b"a", [SQUARE]), (b"t", [array(b"a", 4000, 4900, 0, 0)]))},
    )
    many = "holds over 500,000"
    yield Bomb(
        "large array",
        ("extract", "x.gds"),
        many,
        {"x.gds": gds((b"a", [SQUARE]), (b"t", [array(b"a", 4000, 4900, 200, 200)]))},
    )
    yield Bomb("24 levels of two", ("extract", "x.gds"), many, {"x.gds": levels(24, SQUARE)})
    yield Bomb("24 levels of labels", ("extract", "x.gds"), many, {"x.gds": levels(24, label(68, b"A"))})
    yield Bomb("brackets of metal", ("extract", "x.gds"), "too many teeth", {"x.gds": grate(1000)})
    piled = gds(
        (b"a", [boundary((0, 0), (90_000, 0), (90_000, 90_000), (0, 90_000))]), (b"t", [array(b"a", 200, 200, 1, 1)])
    )
    yield Bomb("a pile", ("extract", "x.gds"), "lie over one another too often", {"x.gds": piled})
    yield Bomb("gzip", ("extract", "x.gds"), "bytes when unpacked", {"x.gds": partial(zipped, 1_900_000_000)})
    yield Bomb(
        "many elements", ("extract", "x.gds"), "elements, where", {"x.gds": lambda: gds((b"a", [SQUARE] * 600_000))}
    )
    opens = "opens into more than 200,000 devices"
    yield Bomb("empty subcircuits", ("explain", "x.sp"), opens, {"x.sp": subcircuits(30)})
    yield Bomb("subcircuits", ("explain", "x.sp"), opens, {"x.sp": subcircuits(18, "M1 a a a nmos")})
    digits = "M1 d g s nmos L=" + "1" * 1_000_000 + "u\nM2 d g s nmos W=0." + "0" * 1_000_000 + "1\n"
    yield Bomb("a million digits", ("explain", "x.sp"), "write µm", {"x.sp": digits.encode()})
    yield Bomb(
        "exclusive or of 30",
        ("draw", "y = " + "^".join(f"a{n}" for n in range(30)), "-o", "o.png"),
        "more than 24 literals",
    )
    yield Bomb("NOR of 40", ("draw", "y = !(" + "+".join(f"a{n}" for n in range(40)) + ")", "-o", "o.png"), "")
    yield Bomb(
        "200 parentheses",
        ("draw", "y = " + "(" * 200 + "a" + ")" * 200, "-o", "o.png"),
        "parentheses within each other",
    )
    yield Bomb("100,000 complements", ("draw", "y = " + "!" * 100_000 + "a", "-o", "o.png"), "characters")
    yield from _of_authors()
    yield Bomb("an endless deck", ("check", "d.yaml"), "larger than 2,000,000 bytes", {"d.yaml": ZERO})
    yield Bomb("an endless layout", ("extract", "x.gds"), "larger than", {"x.gds": ZERO})
    yield Bomb("an endless netlist", ("explain", "x.sp"), "larger than", {"x.sp": ZERO})


def _of_authors():
    """Yield what a deck brings along: a process beside it, a photograph, a zip."""
    own = deck("- cells: inverter\n  processes: p.yaml\n")
    process = (DATA / "silicon-gate-nmos.yaml").read_text("utf-8")
    doubled = "regions:\n  r0: active | poly\n" + "".join(f"  r{n}: r{n - 1} | r{n - 1}\n" for n in range(1, 60))
    for name, text, wanted in (
        ("doubling regions", process.replace("regions:\n", doubled), "more than 1,000 layers"),
        ("a deep expression", process.replace("active & poly -", "(" * 40_000 + "active -"), "names and signs"),
        ("a long process", process + "# x\n" * 400_000, "larger than 100,000 bytes"),
    ):
        yield Bomb(name, ("check", "d.yaml"), wanted, {"d.yaml": own, "p.yaml": text.encode()})
    yield Bomb("a process elsewhere", ("check", "d.yaml"), "lies outside", {"d.yaml": own.replace(b"p.", b"../p.")})
    yield Bomb("an endless process", ("check", "d.yaml"), "lies outside", {"d.yaml": own, "p.yaml": ZERO})
    photographed = deck("- photo: a.marks.yaml\n")
    for name, data, wanted in (
        ("a picture too large", png(90_000, 90_000), "at most 400 million"),
        ("a picture too wide", png(4_000_000, 2), "at most 400 million"),
        ("a damaged picture", png(400, 300)[:50], "the picture is damaged"),
        ("no picture", b"\0" * 5_000_000, "no PNG, JPEG or TIFF picture"),
    ):
        files = {"d.yaml": photographed, "a.marks.yaml": MARKS, "a.png": data}
        yield Bomb(name, ("check", "d.yaml"), wanted, files)
    for name, entries, wanted in (
        ("a zip that climbs", {"../x.yaml": 1}, "no name for a file of a deck"),
        ("a zip of zeros", {"d.yaml": 100_000_000}, "larger than its manifest says"),
        ("a zip of many", {f"{n}.yaml": 0 for n in range(600)}, "more than 500 files"),
    ):
        yield Bomb(name, ("add", "a.zip"), wanted, {"a.zip": partial(zip_of, entries)})


MARKS = b"""- photograph: 1
- process: "silicon-gate-cmos"
- scale: {pixels per lambda: 9}
- picture: {file: "a.png"}
- transistor: {kind: "n", gate: "a", ends: ["VSS", "y"], at: [[30, 30], [30, 10], [30, 50]]}
- region: {name: "r", outline: [[1, 1], [90, 90]]}
"""


def png(wide, high):
    """Return a PNG picture of so many pixels whose first row alone is there."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(1 + 3 * min(wide, 1000))))


def zip_of(entries):
    """Return a zip of files of so many zeros each, with a manifest that tells a hundred bytes of each."""
    files = {name: {"bytes": 100, "sha256": "0" * 64} for name in entries}
    told = {"format": 1, "deck": "d.yaml", "files": files}
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as out:
        for name, size in entries.items():
            out.writestr(name, bytes(size))
        out.writestr("manifest.json", json.dumps(told))
    return made.getvalue()


def heavy():
    """Yield what is within the bounds: decks should be read in five seconds, circuits explained in ten."""
    literal = "".join(f"  k{n}: |\n    {'x' * 60}\n" for n in range(24_000))
    yield Bomb(
        "24,000 literals", ("check", "d.yaml"), "", {"d.yaml": f"title: t\nabout: a\nitems:\n{literal}".encode()}
    )
    yield Bomb("49,000 errors", ("check", "d.yaml"), "more", {"d.yaml": deck("- [x]\n" * 24_000)})
    unknown = "".join(f"- {{cells: [nand{n}x]}}\n" for n in range(9_000))
    yield Bomb("9,000 unknown cells", ("check", "d.yaml"), "more", {"d.yaml": deck(unknown)})
    yield Bomb("2,700 own cells", ("check", "d.yaml"), "", {"d.yaml": own_cells(2_700)}, 0)
    yield Bomb("a title of 1.9 MB", ("check", "d.yaml"), "", {"d.yaml": deck(f"- {{cells: [{'x' * 1_900_000}]}}\n")})
    yield Bomb("20,000 inverters", ("explain", "x.sp"), "20000 inverters in a row", {"x.sp": inverters(20_000)}, 0)
    yield Bomb("20,000 joining resistors", ("explain", "x.sp"), "both ends on n0", {"x.sp": joined(20_000)}, 1)
    yield Bomb("1,000 in series", ("explain", "x.sp"), "NAND1000", {"x.sp": series(1_000)}, 0)
