"""
Read and begin a reader's side file, NAME.notes.yaml: what the reader knows of a netlist that the netlist does not say.

Its keys, each optional: `nets` (a net and the name to call it by), `groups` (a name and its devices), `supplies` (a
net and 0 or 1; several of each are welcome), `clocks`, `dynamic` (nets that hold by charge on purpose), `open drain`
(nets that go one way on purpose), `accepted` (slips that are none: the kind, the device or net, because of what), and
`places` (a device and where it lies, x and y in the units of the reader's picture).
"""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.slips import KINDS, Slip
from layoutdrill.recognise.model import Recognition
from layoutdrill.value import value
from layoutdrill.yamldoc import Node, load

KEYS = ("nets", "groups", "supplies", "clocks", "dynamic", "open drain", "accepted", "places")
ENDING = ".notes.yaml"


@value
class Accepted:
    """A slip that the reader says is none: its kind, a device or a net of it, and the reason."""

    kind: str
    at: str
    because: str


@value
class Notes:
    """What a reader notes beside a netlist; names of nets are those of the netlist itself."""

    nets: dict[str, str]
    groups: dict[str, tuple[str, ...]]
    supplies: dict[str, int]
    clocks: tuple[str, ...]
    dynamic: tuple[str, ...]
    open_drain: tuple[str, ...]
    accepted: tuple[Accepted, ...]
    places: dict[str, tuple[float, float]]

    def called(self, net: str) -> str:
        """Return what a net of the netlist is to be called."""
        return self.nets.get(net, net)

    def named(self, netlist: Netlist) -> Netlist:
        """Return the netlist with its nets called as noted."""
        if not self.nets:
            return netlist
        return replace(
            netlist,
            ports=tuple(map(self.called, netlist.ports)),
            transistors=tuple(t.renamed(self.nets) for t in netlist.transistors),
            elements=tuple(replace(e, nodes=tuple(map(self.called, e.nodes))) for e in netlist.elements),
        )

    def rails(self) -> dict[str, int] | None:
        """Return the supplies under the names that their nets are called by; None where none is noted."""
        return {self.called(net): level for net, level in self.supplies.items()} or None

    def sorted_out(self, slips: Sequence[Slip]) -> tuple[tuple[Slip, ...], tuple[tuple[Slip, str], ...]]:
        """Return the slips that stand, and those accepted, each with the reason."""
        stand: list[Slip] = []
        accepted: list[tuple[Slip, str]] = []
        for slip in slips:
            names = {*slip.transistors, *slip.nets}
            why = [a.because for a in self.accepted if a.kind == slip.kind and self.called(a.at) in names]
            if why:
                accepted.append((slip, why[0]))
            else:
                stand.append(slip)
        return tuple(stand), tuple(accepted)


NONE = Notes({}, {}, {}, (), (), (), (), {})


def notes_beside(path: Path) -> Path:
    """Return where the notes of a netlist lie."""
    return path.with_name(path.name.removesuffix(path.suffix) + ENDING)


def read_notes(path: Path, netlist: Netlist) -> Notes:
    """Return the notes in a file; raises LayoutdrillError with the place of whatever the netlist does not have."""
    fields = load(path).root.fields((), KEYS)
    nets, devices = set(netlist.nets), {t.name for t in netlist.transistors} | {e.name for e in netlist.elements}

    def known(node: Node, names: set[str], what: str) -> str:
        if not isinstance(node.value, (str, int, float)):
            node.fail(f"the name of a {what} expected, {node.sort} found")
        name = node.raw
        if name not in names:
            node.fail(f'no {what} "{name}" in {netlist.name}', did_you_mean(name, sorted(names)))
        return name

    def listed(key: str) -> tuple[str, ...]:
        return tuple(known(n, nets, "net") for n in fields[key].items()) if key in fields else ()

    def keyed(key: str, names: set[str], what: str) -> list[tuple[str, Node]]:
        """Return the entries of a mapping whose keys are names of the netlist."""
        if key not in fields:
            return []
        places = dict(fields[key].key_places)
        entries = list(fields[key].mapping().items())
        for name, node in entries:
            if name not in names:
                todo = did_you_mean(name, sorted(names))
                where = places.get(name, node.where)
                raise LayoutdrillError(f'no {what} "{name}" in {netlist.name}', where=where, todo=todo)
        return entries

    called: dict[str, str] = {}
    renamed = keyed("nets", nets, "net")
    staying = nets - {net for net, _ in renamed}
    for net, node in renamed:
        name = node.text()
        if name.split() != [name]:
            node.fail(f'"{name}" is no name of a net', "write one word")
        if name in called.values() or name in staying:
            node.fail(f'"{name}" is the name of another net', "give each net a name of its own")
        called[net] = name
    groups = {
        name: tuple(known(n, devices, "device") for n in node.items())
        for name, node in (fields["groups"].mapping().items() if "groups" in fields else ())
    }
    supplies: dict[str, int] = {}
    for net, node in keyed("supplies", nets, "net"):
        supplies[net] = node.integer(0, 1)
    if supplies and len(set(supplies.values())) < 2:
        given = next(iter(supplies.values()))
        fields["supplies"].fail(f"every supply is {given}", f"name the net that is {1 - given} as well")
    accepted = []
    for node in fields["accepted"].items() if "accepted" in fields else ():
        entry = node.fields(("slip", "at", "because"))
        kind = entry["slip"].word(tuple(KINDS), "slip")
        accepted.append(Accepted(kind, known(entry["at"], nets | devices, "net or device"), entry["because"].text()))
    places: dict[str, tuple[float, float]] = {}
    for name, node in keyed("places", devices, "device"):
        numbers = node.items()
        if len(numbers) != 2:
            node.fail("a place is two numbers", "write [x, y]")
        places[name] = (numbers[0].number(), numbers[1].number())
    return Notes(called, groups, supplies, listed("clocks"), listed("dynamic"), listed("open drain"),
                 tuple(accepted), places)  # fmt: skip


def first_notes(recognition: Recognition, slips: Sequence[Slip]) -> str:
    """Return notes to begin with: what was found, and the slips as entries to accept once they prove to be none."""
    supplies = recognition.supplies
    lines = [f"# what is known of {recognition.netlist.name} beside the netlist itself", "supplies:"]
    lines += [f"  {_quoted(net)}: 1" for net in sorted(supplies.high)] + [
        f"  {_quoted(n)}: 0" for n in sorted(supplies.low)
    ]
    clocks = list(dict.fromkeys(n for s in recognition.structures for n in s.nets(Role.CLOCK)))
    lines.append("clocks: [" + ", ".join(map(_quoted, clocks)) + "]")
    lines += ["dynamic: []", "open drain: []", "# nets: {n12: carry}", "# groups: {row decoder: [M1, M2]}",
              "# places: {M1: [120, 45]}", "groups:"]  # fmt: skip
    seen: dict[str, int] = {}
    for s in recognition.structures:
        if len(s.transistors) < 2 or len(recognition.structures) < 2:
            continue
        seen[s.term] = seen.get(s.term, 0) + 1
        name = s.term if seen[s.term] == 1 else f"{s.term} {seen[s.term]}"
        lines.append(f"  {_quoted(name)}: [{', '.join(map(_quoted, s.transistors))}]")
    if lines[-1] == "groups:":
        lines[-1] = "groups: {}"
    lines.append("accepted:" if slips else "accepted: []")
    for slip in slips:
        at = (*slip.transistors, *slip.nets)[:1]
        if at:
            lines.append(f"  # - slip: {slip.kind}\n  #   at: {at[0]}\n  #   because: say why this is none")
    if slips:
        lines[lines.index("accepted:")] = "accepted: []  # or, one by one:"
    return "\n".join(lines) + "\n"


def write_first_notes(path: Path, recognition: Recognition, slips: Sequence[Slip]) -> Path:
    """Write notes to go on from beside a netlist; raises LayoutdrillError where there are some already."""
    place = notes_beside(path)
    if place.exists():
        raise LayoutdrillError("there are notes already", where=Where(str(place)), todo="move them away first")
    try:
        place.write_text(first_notes(recognition, slips), encoding="utf-8")
    except OSError as error:
        raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(place))) from None
    return place


def _quoted(name: str) -> str:
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
