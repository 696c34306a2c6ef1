"""Slips at stages of logic with one kind of transistor: drivers without a load, loads without a driver, odd gates."""

from collections import Counter
from collections.abc import Iterator

from layoutdrill.netlist.model import Kind
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.reading.slips.one_way import decides, first_of, is_fed, is_stack, open_drain
from layoutdrill.recognise.switches import Switch
from layoutdrill.recognise.view import View

LEAST_LIKES = 2
"""So many others must have their load wired in one way before one that is not so is odd."""


def ratioed_slips(scene: Scene, clocks: dict[str, str], owners: dict[str, str]) -> Iterator[Slip]:
    """Yield the slips of ratioed stages; `clocks` are nets that something treats as such, `owners` known structures."""
    yield from _missing_loads(scene, clocks, owners)
    yield from _missing_drivers(scene, owners)
    yield from _odd_loads(scene, owners)
    yield from _wrong_rails(scene, owners)
    yield from _two_loads(scene)
    yield from _other_rail(scene)


def _missing_loads(scene: Scene, clocks: dict[str, str], owners: dict[str, str]) -> Iterator[Slip]:
    """Yield stages of ratioed logic that have drivers and no load, or a load that never conducts."""
    view = scene.view
    loaded = sum(g.kind == "ratioed" for g in view.gates.values())
    switched = Counter(g.controls[0] for g in view.gates.values() if g.kind in _SWITCHED and g.controls)
    rail = scene.supplies.high if view.one_kind is Kind.N else scene.supplies.low
    away = "high" if view.one_kind is Kind.N else "low"
    outputs = [g for n, g in view.gates.items() if n in view.ports and not view.readers.get(n)]
    open_ports = sum(g.kind in ("pull-down", "pull-up") for g in outputs)
    idle = {n: own for n, g in view.gates.items() if g.kind in _IDLE and (own := _self_gated(view, n))}
    if len(idle) > 1 and not loaded:
        named = ", ".join([*idle.values()][:4]) + " …" * (len(idle) > 4)
        text = (
            f"all {len(idle)} loads ({named}) are enhancement transistors by their model, with the gate on their own "
            "output: so wired they never conduct"
        )
        model = f"{view.one_kind}mosd"
        repair = f"are they depletion loads? Then write {model} for them; else their gates are on {first_of(rail)}"
        yield Slip("idle load", text, tuple(idle.values()), tuple(idle), repair)
    for net, gate in view.gates.items():
        if net in scene.dynamic or net in scene.open_drain or (net in idle and not loaded and len(idle) > 1):
            continue
        names = view.names(gate.members)
        if own := idle.get(net, ""):
            text = (
                f"{own}, the load of {net}, has its gate on {net} itself: an enhancement load so wired never conducts"
            )
            repair = f"either it is a depletion load, or its gate is on {first_of(rail)}"
            yield Slip("idle load", text, (own,), (net,), repair)
        elif gate.kind in ("precharged", "clocked") and gate.controls:
            control = gate.controls[0]
            if loaded < 2:
                continue
            if view.root(control)[0] in clocks and not _alone(view, net, switched[control], loaded):
                continue
            pulls = [i for i in view.stages[net].members if control == view.prepared.switches[i].gate]
            no = "" if view.root(control)[0] in clocks else ", no clock"
            text = f"the load of {net} is switched by {control}{no}; {loaded} others have one that stays on"
            yield Slip(
                "missing load", text, view.names(pulls), (net,), f"the gate of the load belongs on {first_of(rail)}"
            )
        elif gate.kind in ("pull-down", "pull-up") and loaded + switched.total() and not is_fed(view, net):
            read = net in view.readers or net in view.controlled or net in view.links_at or net in view.prepared.gated
            if any(n in owners for n in names) and not read:
                continue
            if not read and net not in view.ports:
                continue
            if not read and open_drain(view, net, gate, open_ports, len(outputs)):
                continue
            if is_stack(view, net) and not (read and decides(view, net)):
                continue
            others = loaded + switched.total()
            have = "1 other stage has one" if others == 1 else f"{others} other stages have one"
            text = f"{net} has drivers and no load, so it can never go {away}; {have}"
            yield Slip("missing load", text, names, (net,), f"look for the load between {net} and {first_of(rail)}")


_SWITCHED = ("precharged", "clocked")


def _alone(view: View, net: str, switched: int, loaded: int) -> bool:
    """Tell whether a stage of one input is the only one that a phase loads, among several whose load stays on."""
    return switched == 1 and loaded >= 4 and len(view.gates[net].inputs) == 1


def _missing_drivers(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield nets with a load and no driver: they never change. A pad with a pull-up, or a line of cells, is none."""
    view = scene.view
    driven = sum(g.kind in ("ratioed", *_SWITCHED) for g in view.gates.values())
    plates = {n for e in view.netlist.elements if e.kind == "capacitor" for n in e.nodes}
    plates |= {n for t in view.netlist.transistors if t.source == t.drain for n in t.terminals}
    lifted = {s.gate for s in view.prepared.switches if set(s.ends) & scene.supplies.nets and s.gate not in s.ends}
    nodes = {n for e in view.netlist.elements if e.kind != "capacitor" for n in e.nodes} | (plates & lifted)
    always, never = ("high", "low") if view.one_kind is Kind.N else ("low", "high")
    for net, gate in view.gates.items():
        if gate.kind != "load" or not driven or view.links_at.get(net) or net in nodes or net in scene.dynamic:
            continue
        names = view.names(gate.members)
        read = net in view.readers or net in view.controlled or net in plates
        if (net in view.ports and read) or not (read or net in view.ports) or any(n in owners for n in names):
            continue
        rail = scene.supplies.low if view.one_kind is Kind.N else scene.supplies.high
        text = f"{net} has a load and no driver, so it is always {always} and never {never}"
        repair = f"look for the transistors between {net} and {first_of(rail)}"
        yield Slip("missing device", text, names, (net,), repair)


def _odd_loads(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield depletion loads whose gate is on another net, where their likes have it on their own output."""
    view = scene.view
    mine: list[tuple[str, Switch]] = []
    own = 0
    for net, stage in view.stages.items():
        for side, numbers in stage.loads.items():
            for i in numbers:
                s = view.prepared.switches[i]
                if not s.depletion or s.gate in scene.supplies.nets:
                    continue
                if s.gate in s.ends:
                    own += 1
                elif side == ("high" if view.one_kind is Kind.N else "low"):
                    mine.append((net, s))
    for net, s in mine:
        # in a super buffer the gate goes up with the output, and before it
        follows = view.root(s.gate) == view.root(net) and s.gate in view.gates
        if s.gate in view.gates[net].inputs and len(view.gates[net].inputs) == 1 and s.gate != net:
            text = f"{s.names[0]}, the load of {net}, and its driver are both gated by {s.gate}: they conduct together"
            driver = [n for i in view.gates[net].members if (d := view.prepared.switches[i]).gate == s.gate
                      for n in d.names if d is not s]  # fmt: skip
            repair = f"one of the two belongs on the inverse of {s.gate}"
            yield Slip("odd load", text, (*s.names, *driver), (net, s.gate), repair)
            continue
        if follows or own < LEAST_LIKES or any(n in owners for n in s.names) or len(mine) > own:
            continue
        text = f"{s.names[0]}, the load of {net}, has its gate on {s.gate}; {own} others have it on their own output"
        repair = f"{s.names[0]} with its gate on {net} instead of {s.gate}"
        yield Slip("odd load", text, s.names, (net, s.gate), repair)


def _wrong_rails(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield drivers that lead to the rail of the load, at a stage that has one."""
    view = scene.view
    away = "high" if view.one_kind is Kind.N else "low"
    rails = scene.supplies.high if view.one_kind is Kind.N else scene.supplies.low
    right = first_of(scene.supplies.low if view.one_kind is Kind.N else scene.supplies.high)
    for net, stage in view.stages.items():
        gate = view.gates[net]
        if away not in stage.loads or gate.kind == "Schmitt" or not any(rail == away for _, rail in stage.pull):
            continue
        loads = set(stage.loads[away])
        others = [view.prepared.switches[i] for i in sorted(stage.members - loads)]
        wrong = [s for s in others if set(s.ends) & rails and not any(n in owners for n in s.names)]
        # a super buffer's upper transistor follows the complement of what the lower one reads
        lower = {view.root(n)[0] for n in gate.inputs}
        for s in wrong:
            if view.root(s.gate)[0] in lower or s.gate == net:
                continue
            text = f"{s.names[0]} leads from {net} to {first_of(rails)}, as the load of {net} does"
            repair = f"{s.names[0]} with an end on {right} instead of {first_of(rails)}"
            yield Slip("wrong rail", text, s.names, (net,), repair)


def _other_rail(scene: Scene) -> Iterator[Slip]:
    """Yield the one transistor that alone brings a port to a rail, where all others that do so lead to the other."""
    view, high, low = scene.view, scene.supplies.high, scene.supplies.low
    to: dict[bool, list[tuple[str, Switch]]] = {True: [], False: []}
    for net in view.ports & view.prepared.at.keys() - scene.dynamic - scene.open_drain:
        at = [view.prepared.switches[i] for i in view.prepared.at[net]]
        rails = set(at[0].ends) & (high | low) if len(at) == 1 else set()
        if rails and not at[0].depletion and net not in view.prepared.gated and at[0].gate in view.gates:
            to[bool(rails & high)].append((net, at[0]))
    few, many = sorted(to.values(), key=len)
    if len(few) == 1 and len(many) > LEAST_LIKES:
        ((net, s),) = few
        text = (
            f"{s.names[0]} leads from {net} to {s.other(net)}; the {len(many)} outputs like it lead to the other rail"
        )
        other = many[0][1].other(many[0][0])
        yield Slip(
            "wrong rail", text, s.names, (net,), f"{s.names[0]} with an end on {other} instead of {s.other(net)}"
        )


_IDLE = ("precharged", "push-pull", "torn")
"""What a stage looks like whose load has its gate on its own output."""


def _self_gated(view: View, net: str) -> str:
    """Return the enhancement transistor on a stage's load side whose gate is its own output, "" where there is none."""
    for i in view.stages[net].members:
        s = view.prepared.switches[i]
        if s.gate == net and net in s.ends and not s.depletion and s.other(net) in view.prepared.supplies.nets:
            return s.names[0]
    return ""


def _two_loads(scene: Scene) -> Iterator[Slip]:
    """Yield nets with more loads than one, where nearly all have one."""
    view = scene.view
    counts = {net: sum(len(v) for v in stage.loads.values()) for net, stage in view.stages.items() if stage.loads}
    names = {
        net: [n for side in view.stages[net].loads.values() for i in side for n in view.prepared.switches[i].names]
        for net in counts
    }
    single = sum(len(n) == 1 for n in names.values())
    for net, loads in names.items():
        if len(loads) > 1 and 2 * single > len(names):
            parts = [w for _, _, w, _ in view.stages[net].parts]
            two = len(parts) > 1
            why = "two nets taken for one, or a load written twice" if two else "written twice?"
            yield Slip("two loads", f"{net} has {len(loads)} loads ({', '.join(loads)}); {single} others have one",
                       tuple(loads), (net,), why)  # fmt: skip
