"""
Find the one edit of a netlist that makes it another one: the slip that a reader most likely made.

Where two netlists differ by a single slip, what surrounds it differs near the slip first. So only devices and nets are
tried that one side has more of, looking no farther around than needed to see a difference; each edit that would set
the balance right is made, and kept when the two are then equal.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial

from layoutdrill.netlist.grid import place_of
from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor
from layoutdrill.netlist.suspects import Part, Suspects, parts_of
from layoutdrill.value import value

Matched = Callable[[Netlist, Netlist], "Like | None"]
"""Tells of two netlists which name is which, None where they differ."""
Titles = tuple[str, str]
Known = Iterable[tuple[str, str]]

WORK = 400_000
"""Edits tried times devices compared: about two seconds."""
MOST_ON_NET = 5


@value
class Like:
    """What the nets and devices of one netlist are called in the other, which it is once it is edited."""

    nets: Mapping[str, str]
    devices: Mapping[str, str]

    def turned(self) -> "Like":
        return Like({b: a for a, b in self.nets.items()}, {b: a for a, b in self.devices.items()})

    def net(self, name: str) -> str:
        return self.nets.get(name, name)


@value
class Edit:
    """
    One edit: `words` puts it into words once it is known what is like what, `made` returns the two netlists after it.

    `old` and `new` are the device before and after it, None where there is none; both are None for other edits. `of_b`
    says that the edit is one of B.
    """

    words: Callable[[Like], str]
    made: Callable[[], tuple[Netlist, Netlist]]
    old: Part | None = None
    new: Part | None = None
    of_b: bool = False


def one_edit(a: Netlist, b: Netlist, known: Known, matched: Matched, titles: Titles) -> str:
    """
    Return in words the one edit of A that makes it B, with its place where it lies in an array; "" where none is found.

    `known` are nets (of A, of B) that belong together by name, `matched` judges two netlists.
    """
    suspects = Suspects(a, b, list(known))
    if suspects.far_apart:
        return ""
    budget = max(24, WORK // max(1, len(a.transistors) + len(a.elements)))
    tried = 0
    for edit in _edits(a, b, suspects, titles):
        if not suspects.fits(edit.old, edit.new, of_b=edit.of_b):
            continue
        if tried >= budget:
            return ""
        tried += 1
        like = matched(*edit.made())
        if like is not None:
            return f"one edit makes them equal: {edit.words(like.turned() if edit.of_b else like)}"
    return ""


def _edits(a: Netlist, b: Netlist, suspects: Suspects, titles: Titles) -> Iterator[Edit]:
    count_a, count_b = len(a.transistors) + len(a.elements), len(b.transistors) + len(b.elements)
    nets_a, nets_b = len(a.nets), len(b.nets)
    if count_a > count_b:
        yield from _extra(a, b, suspects.devices_a, titles)
    elif count_a < count_b:
        for edit in _extra(b, a, suspects.devices_b, titles[::-1]):
            yield _turned(edit)
    else:
        yield from _flips(a, b, suspects, titles)
        if nets_a > nets_b:
            yield from _merged(a, b, suspects.nets_a, titles)
        elif nets_a < nets_b:
            for edit in _merged(b, a, suspects.nets_b, titles[::-1]):
                yield _turned(edit)
        yield from _moves(a, b, suspects, titles)
        yield from _moves_to_new(a, b, suspects, titles)
        yield from _exchanged_ports(a, b, suspects, titles)


def _turned(edit: Edit) -> Edit:
    """Return an edit of B, made as one of A, with the two netlists in their order."""
    return replace(edit, made=lambda: edit.made()[::-1], of_b=True)


def _changed(a: Netlist, b: Netlist, old: Part, new: Part, words: Callable[[Like], str]) -> Edit:
    return Edit(words, lambda: (_with(a, new), b), old, new)


def _title(netlist: Netlist, name: str, like: Like, titles: Titles) -> str:
    """Return a device's kind and name, with its name in the other netlist, and its place in an array."""
    kind = next((e.kind for e in netlist.elements if e.name == name), "transistor")
    other = like.devices.get(name, name)
    also = f"{other} in {titles[1]}" if other != name else ""
    aside = "; ".join(part for part in (also, place_of(netlist, name)) if part)
    return f"{kind} {name}" + (f" ({aside})" if aside else "")


def _extra(a: Netlist, b: Netlist, names: list[str], titles: Titles) -> Iterator[Edit]:
    parts = {part.name: part for part in parts_of(a)}
    for name in names:

        def made(name: str = name) -> tuple[Netlist, Netlist]:
            return _only(a, lambda part: None if part.name == name else part), b

        def words(like: Like, name: str = name) -> str:
            says = f"{_title(a, name, like, titles)} of {titles[0]} is not in {titles[1]}"
            return f"{says}; there it is {_drawn(parts[name], like)}"

        yield Edit(words, made, parts[name])


def _drawn(part: Part, like: Like) -> str:
    """Return what a device is, in the names of the other netlist."""
    if isinstance(part, Element):
        return f"between {' and '.join(map(like.net, part.nodes))}"
    mode = "" if part.mode is Mode.ENHANCEMENT else f" {part.mode}"
    ends = " and ".join(sorted(map(like.net, part.ends)))
    return f"{part.kind}-channel{mode}, gate {like.net(part.gate)}, between {ends}"


def _flips(a: Netlist, b: Netlist, suspects: Suspects, titles: Titles) -> Iterator[Edit]:
    by_name = {t.name: t for t in a.transistors}
    for name in suspects.devices_a:
        t = by_name.get(name)
        if t is None:
            continue
        other_kind = Kind.P if t.kind is Kind.N else Kind.N
        other_mode = Mode.ENHANCEMENT if t.mode is Mode.DEPLETION else Mode.DEPLETION
        options: list[tuple[Transistor, str]] = [
            (replace(t, kind=other_kind), f"is {t.kind}-channel in {titles[0]}, {other_kind}-channel in {titles[1]}"),
            (replace(t, mode=other_mode), f"is an {t.mode} transistor in {titles[0]}, {other_mode} in {titles[1]}"),
            (replace(t, gate=t.source, source=t.gate), f"has its gate and the end on {t.source} exchanged"),
            (replace(t, gate=t.drain, drain=t.gate), f"has its gate and the end on {t.drain} exchanged"),
        ]
        for changed, says in options:
            yield _changed(a, b, t, changed, partial(_flipped, a, name, titles, says))
    for e in a.elements:
        if e.kind == "diode" and e.name in suspects.devices_a:
            turned = replace(e, nodes=e.nodes[::-1])
            yield _changed(a, b, e, turned, partial(_flipped, a, e.name, titles, "has anode and cathode exchanged"))


def _flipped(a: Netlist, name: str, titles: Titles, says: str, like: Like) -> str:
    return f"{_title(a, name, like, titles)} {says}"


def _moves(a: Netlist, b: Netlist, suspects: Suspects, titles: Titles) -> Iterator[Edit]:
    """Move one terminal of a suspect from one suspect net to another."""
    transistors = {t.name: t for t in a.transistors}
    elements = {e.name: e for e in a.elements}
    for name in suspects.devices_a:
        t, e = transistors.get(name), elements.get(name)
        for net in suspects.nets_a:
            if t is not None:
                for role in ("gate", "source", "drain"):
                    old = getattr(t, role)
                    if old != net:

                        def words(
                            like: Like, name: str = name, role: str = role, old: str = old, net: str = net
                        ) -> str:
                            title = _title(a, name, like, titles)
                            return f"{title}: {_end(role)} {_moved(old, net, like, titles)}"

                        yield _changed(a, b, t, _placed(t, role, net), words)
            elif e is not None:
                for at, old in enumerate(e.nodes):
                    if old != net:
                        nodes = (*e.nodes[:at], net, *e.nodes[at + 1 :])

                        def element_words(
                            like: Like, name: str = name, _: str = "", old: str = old, net: str = net
                        ) -> str:
                            return f"{_title(a, name, like, titles)}: an end {_moved(old, net, like, titles)}"

                        yield _changed(a, b, e, replace(e, nodes=nodes), element_words)


def _moves_to_new(a: Netlist, b: Netlist, suspects: Suspects, titles: Titles) -> Iterator[Edit]:
    """Take one terminal off its net, to a net of its own."""
    fresh = "a net of its own"
    for t in a.transistors:
        if t.name in suspects.devices_a:
            for role in ("gate", "source", "drain"):

                def words(like: Like, t: Transistor = t, role: str = role) -> str:
                    at = f"{_title(a, t.name, like, titles)}: {_end(role)} is on net {getattr(t, role)}"
                    return f"{at} in {titles[0]}; in {titles[1]} nothing else is on its net"

                yield _changed(a, b, t, _placed(t, role, fresh), words)


def _merged(a: Netlist, b: Netlist, nets: list[str], titles: Titles) -> Iterator[Edit]:
    """Join two suspect nets of the side that has one more."""
    ports = set(a.ports)
    for at, one in enumerate(nets):
        for other in nets[at + 1 :]:
            if one in ports and other in ports:
                continue
            keep, lose = (other, one) if other in ports else (one, other)

            def words(like: Like, one: str = one, other: str = other, keep: str = keep) -> str:
                both = " and ".join(f"{net} ({_on(a, net)})" for net in (one, other))
                return f"nets {both} of {titles[0]} are one net in {titles[1]}, {like.net(keep)}"

            yield Edit(words, partial(_both, a, b, {lose: keep}))


def _on(netlist: Netlist, net: str) -> str:
    """Return the names of the first devices on a net."""
    names = [t.name for t in netlist.transistors if net in t.terminals]
    names += [e.name for e in netlist.elements if net in e.nodes]
    more = len(names) - MOST_ON_NET
    return f"with {', '.join(names[:MOST_ON_NET])}" + (f" and {more} more" if more > 0 else "")


def _exchanged_ports(a: Netlist, b: Netlist, suspects: Suspects, titles: Titles) -> Iterator[Edit]:
    if suspects.differences.nets:
        return  # two names exchanged leave every net without a name as it is
    near = set(suspects.nets_a)
    ports = [port for port in a.ports if port in near]
    for at, one in enumerate(ports):
        for other in ports[at + 1 :]:
            says = f"ports {one} and {other} are exchanged between {titles[0]} and {titles[1]}"

            def words(_: Like, says: str = says) -> str:
                return says

            yield Edit(words, partial(_both, a, b, {one: other, other: one}))


def _moved(old: str, net: str, like: Like, titles: Titles) -> str:
    """Say on which net a terminal is, and on which it ought to be, in the names of both."""
    other = like.net(net)
    also = f", which is {net} in {titles[0]}" if other != net else ""
    return f"is on net {old} in {titles[0]}, on net {other} in {titles[1]}{also}"


def _end(role: str) -> str:
    return "its gate" if role == "gate" else "one end (source or drain)"


def _placed(t: Transistor, role: str, net: str) -> Transistor:
    if role == "gate":
        return replace(t, gate=net)
    return replace(t, source=net) if role == "source" else replace(t, drain=net)


def _only(netlist: Netlist, change: "Callable[..., Transistor | Element | None]") -> Netlist:
    """Return the netlist with each device as `change` returns it, those left out where it returns None."""
    transistors = [changed for t in netlist.transistors if (changed := change(t)) is not None]
    elements = [changed for e in netlist.elements if (changed := change(e)) is not None]
    return replace(
        netlist,
        transistors=tuple(t for t in transistors if isinstance(t, Transistor)),
        elements=tuple(e for e in elements if isinstance(e, Element)),
    )


def _both(a: Netlist, b: Netlist, names: dict[str, str]) -> tuple[Netlist, Netlist]:
    return _only(a, lambda part: part.renamed(names)), b


def _with(netlist: Netlist, part: Transistor | Element) -> Netlist:
    return _only(netlist, lambda old: part if old.name == part.name else old)
