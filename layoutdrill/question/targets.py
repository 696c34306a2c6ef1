"""What one can be asked to point at: where it lies, and which other places are near misses, with the reason."""

from collections.abc import Iterator

from layoutdrill.face.materials import Material
from layoutdrill.face.scene import Scene
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.process import Process
from layoutdrill.question.keys import Key
from layoutdrill.question.model import Mark
from layoutdrill.value import value


@value
class Near(Key):
    """
    Places that are not the target but near it in meaning: the credit they earn, and what to say.

    `soft` places yield to the tolerance: within 1 λ of the target the target counts.
    """

    rects: tuple[Rect, ...]
    credit: float
    remark: str
    soft: bool = False


@value
class Target:
    """
    A thing to point at. `words` completes “Put the crosshair on …”; every one of `rects` is a right answer.

    `decides` names the feature; `nets` and `transistors` are outlined with the verdict; `marks` are shown.
    """

    name: str
    words: str
    rects: tuple[Rect, ...]
    near: tuple[Near, ...]
    decides: str
    marks: tuple[Mark, ...] = ()
    transistors: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()


def subject_of(name: str) -> str:
    """Return what pointing at a target trains."""
    if name in ("contact", "crossing", "via", "tap"):
        return name
    if name.endswith(" transistor"):
        return "n and p" if name[:1] in "np" and name[1] == " " else "loads"
    if name in ("load", "depletion load"):
        return "loads"
    return "nets" if name.startswith("gate of ") or name == "output" else "rails"


def targets(scene: Scene) -> tuple[Target, ...]:
    """Return everything on the specimen that can be asked for: of what not every one is known, none is right alone."""
    candidates = [*_polarity(scene), *_modes(scene), *_driven(scene), *_output(scene), *_rails(scene), *_places(scene)]
    return tuple(t for t in candidates if t.rects and _rests_on(t, scene) <= scene.complete)


def _rests_on(target: Target, scene: Scene) -> set[str]:
    """Return the sort of which every one must be known, none for what asks for transistors alone."""
    if target.name in ("contact", "tap"):
        return {f"{target.name}s"}
    wires = target.name in ("crossing", "crossunder", "output", *scene.process.supplies)
    return {"wires"} if wires else set()


def _channels(scene: Scene, transistors: list[Transistor]) -> tuple[Rect, ...]:
    return tuple(rect for t in transistors for rect in scene.channels[t.name])


def _polarity(scene: Scene) -> Iterator[Target]:
    devices = scene.extraction.netlist.transistors
    if {t.kind for t in devices} != {Kind.N, Kind.P}:
        return
    for kind, other in ((Kind.N, Kind.P), (Kind.P, Kind.N)):
        own = [t for t in devices if t.kind is kind]
        rest = _channels(scene, [t for t in devices if t.kind is other])
        article = "an n" if kind is Kind.N else "a p"
        yield Target(
            f"{kind} transistor",
            f"{article} transistor",
            _channels(scene, own),
            (Near(rest, 0.5, f"That is a transistor, but {other}."), *_wires(scene, "beside a channel")),
            _group_words(kind),
            transistors=tuple(t.name for t in own),
        )


def _group_words(kind: Kind) -> str:
    rail = "low" if kind is Kind.N else "high"
    return f"The {kind} transistors stand together, on the side of the {rail} rail; the gate lies over the channel."


def _wires(scene: Scene, why: str) -> tuple[Near, ...]:
    """The wires that make a gate, away from the channel: worth nothing, but told in words."""
    poly = tuple(w.rect for w in scene.wires if w.material is Material.POLY)
    remark = f"That is poly {why}: the transistor is only where it lies over diffusion."
    return (Near(poly, 0.0, remark, soft=True),) if poly else ()


def _modes(scene: Scene) -> Iterator[Target]:
    devices = scene.extraction.netlist.transistors
    loads = [t for t in devices if is_load(t, scene.process, scene.extraction.netlist)]
    drivers = [t for t in devices if t not in loads]
    if len({t.kind for t in devices}) != 1 or not loads or not drivers:
        return
    yield Target(
        "load",
        "a load",
        _channels(scene, loads),
        (Near(_channels(scene, drivers), 0.5, "That is a transistor, but a driver."),),
        "A load's gate is tied to its own source or to a supply, and its channel is long.",
        transistors=tuple(t.name for t in loads),
    )


def is_load(t: Transistor, process: Process, netlist: Netlist) -> bool:
    """
    Tell whether a transistor of ratioed logic is a load: in depletion, or gate and one end on the supply that opens it,
    or its gate on the supply that is there for the gates of loads. (Gate and end on the other supply make a clamp.)
    """
    if t.mode is Mode.DEPLETION:
        return not t.is_closed_by_implant(process.rails, process.supplies[1:])
    single = len({other.kind for other in netlist.transistors}) == 1
    opened = process.rail_levels.get(t.gate) == int(t.kind is Kind.N)
    return single and opened and (t.gate in t.ends or t.gate == process.gate_supply)


def inputs(netlist: Netlist, supplies: tuple[str, ...]) -> tuple[str, ...]:
    """Return the ports that drive gates and touch no channel end: the plain inputs."""
    ends = {end for t in netlist.transistors for end in t.ends}
    gates = {t.gate for t in netlist.transistors}
    return tuple(p for p in netlist.ports if p in gates and p not in ends and p not in supplies)


def outputs(netlist: Netlist, supplies: tuple[str, str]) -> tuple[str, ...]:
    """Return the ports with a path to each rail through channels of one kind (or through a load)."""
    single = len({t.kind for t in netlist.transistors}) == 1
    reach = []
    for supply, kind in zip(supplies, (Kind.N, Kind.P), strict=True):
        seen, edge = {supply}, [supply]
        while edge:
            net = edge.pop()
            for t in netlist.transistors:
                if not single and t.kind is not kind:
                    continue
                for here, there in ((t.source, t.drain), (t.drain, t.source)):
                    if here == net and there not in seen:
                        seen.add(there)
                        if there not in netlist.ports:
                            edge.append(there)
        reach.append(seen)
    return tuple(p for p in netlist.ports if p not in supplies and p in reach[0] and p in reach[1])


def _driven(scene: Scene) -> Iterator[Target]:
    netlist = scene.extraction.netlist
    labels: dict[str, Mark] = {}
    for label in scene.labels:
        labels.setdefault(label.text, Mark(label.text, label.x, label.y))
    for port in inputs(netlist, scene.process.rails):
        if port not in labels:
            continue
        own = [t for t in netlist.transistors if t.gate == port]
        rest = [t for t in netlist.transistors if t.gate != port]
        if not rest:
            continue
        yield Target(
            f"gate of {port}",
            f"a transistor whose gate is driven by {port}",
            _channels(scene, own),
            (
                Near(_channels(scene, rest), 0.25, f"That is a transistor, but its gate is not on {port}."),
                Near(_net(scene, port), 0.5, f"That is the net {port}; follow it on to a channel.", soft=True),
            ),
            f"Follow the net from {port} until it lies over a channel.",
            marks=(labels[port],),
            transistors=tuple(t.name for t in own),
            nets=(port,),
        )


def _net(scene: Scene, net: str) -> tuple[Rect, ...]:
    return tuple(w.rect for w in scene.wires if w.net == net)


def _output(scene: Scene) -> Iterator[Target]:
    netlist = scene.extraction.netlist
    names = outputs(netlist, scene.process.supplies)
    if len(names) != 1:
        return
    out = names[0]
    plain = inputs(netlist, scene.process.rails)
    gates = tuple(rect for port in plain for rect in _net(scene, port))
    rails = tuple(rect for rail in scene.process.rails for rect in _net(scene, rail))
    yield Target(
        "output",
        "the net of the output",
        _net(scene, out),
        (
            Near(gates, 0.0, "That is an input: it only drives gates.", soft=True),
            Near(rails, 0.0, "That is a rail.", soft=True),
        ),
        "The output is the net in which the two sides meet: n and p, or drivers and load.",
        nets=(out,),
    )


def _rails(scene: Scene) -> Iterator[Target]:
    low, high = scene.process.supplies
    if not (_net(scene, low) and _net(scene, high)):
        return
    for own, other in ((low, high), (high, low)):
        yield Target(
            own,
            f"the rail {own}",
            _net(scene, own),
            (Near(_net(scene, other), 0.5, f"That is a rail, but {other}.", soft=True),),
            rail_words(scene, own),
            nets=(own,),
        )


def rail_words(scene: Scene, rail: str) -> str:
    """Say what tells a rail in this process."""
    low, _high = scene.process.supplies
    kinds = {t.kind for t in scene.extraction.netlist.transistors}
    if kinds == {Kind.N, Kind.P}:
        kind = "n" if rail == low else "p"
        return f"{rail} is the rail on which the {kind} transistors hang."
    loads = any(is_load(t, scene.process, scene.extraction.netlist) and rail in t.ends
                for t in scene.extraction.netlist.transistors)  # fmt: skip
    return f"{rail} is the rail of the loads." if loads else f"{rail} is the rail of the drivers."


def _places(scene: Scene) -> Iterator[Target]:
    contacts = tuple(j.rect for j in scene.joints if j.material is not Material.METAL or j.lower in scene.local)
    crossings = tuple(r for c in scene.crossings for r in c.rects)
    clean = tuple(r for c in scene.crossings if c.clean for r in c.rects)
    channels = tuple(r for rects in scene.channels.values() for r in rects)
    yield Target(
        "contact",
        "a contact",
        contacts,
        (
            Near(crossings, 0.25, "Two wires pass there and nothing joins them: a crossing."),
            Near(channels, 0.0, "That is a transistor."),
        ),
        "A contact shows as a small square; where there is none the wires only cross.",
    )
    if clean:
        yield Target(
            "crossing",
            "a crossing (two nets that pass without touching)",
            crossings,
            (
                Near(contacts, 0.25, "Something joins the two there: a contact."),
                Near(channels, 0.0, "That is a transistor."),
            ),
            "At a crossing metal passes over another wire, with no contact and no thin oxide between.",
        )
    taps = tuple(r for p in scene.pieces if p.material is Material.TAP for r in p.rects)
    yield Target(
        "tap",
        "a tap of the well or the substrate",
        taps,
        (Near(contacts, 0.25, "That is a contact, but to a gate, a source or a drain."),),
        "A tap is a small diffusion with a contact and no gate, on a rail.",
    )
    under = tuple(r for p in scene.crossunders for r in p.rects)
    yield Target(
        "crossunder",
        "a crossunder",
        under,
        (Near(tuple(w.rect for w in scene.wires if w.material is Material.DIFFUSION), 0.25,
              "That is diffusion, but part of a transistor: a source or a drain."),),
        "A crossunder is a strip of diffusion that touches no gate, with a contact at each end.",
    )  # fmt: skip
