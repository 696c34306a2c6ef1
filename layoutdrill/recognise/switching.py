"""Find structures of a few stages that are no plain logic: restorer, super buffer, domino, tri-state by a switch."""

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.gates import Gate, static_term
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.work import Built, Called, Work, literal
from layoutdrill.simulate.expression import text, truth, variables
from layoutdrill.simulate.minimal import complement, minimal


def find_restorers(work: Work) -> None:
    """Take an inverter whose output gates a single pull-up on its own input."""
    view = work.view
    for net in list(view.gates):
        weak = work.gate(net)
        if weak is None or weak.kind not in ("pull-up", "pull-down") or len(weak.inputs) != 1:
            continue
        y = weak.inputs[0]
        inverter = work.gate(y)
        if inverter is None or inverter.inverter_of != net:
            continue
        side = "high" if weak.kind == "pull-up" else "low"
        ports = [Port(net, Role.INPUT), Port(y, Role.OUTPUT)]
        function = f"{y} = !{net}; {y} holds {net} {side}"
        work.build(Called("level restorer", ("inverter",)), {net, y}, set(), ports, function)


def find_super_buffers(work: Work) -> None:
    """Take NMOS stages whose depletion pull-up is gated by the complement of what gates the driver."""
    view = work.view
    rails = view.prepared.supplies.nets
    for y, stage in view.stages.items():
        gate = work.gate(y)
        if gate is None or gate.kind not in ("ratioed", "push-pull"):
            continue
        pulls = [view.prepared.switches[i].gate for side in stage.loads.values() for i in side]
        pulls = [g for g in pulls if g != y and g not in rails] or list(gate.controls)
        if len(pulls) != 1 or len(gate.inputs) != 1:
            continue
        up, down = pulls[0], gate.inputs[0]
        root, straight = view.root(up)
        if view.root(down) != (root, not straight):
            continue
        inverters = {n for n in (up, down) if view.root(n) != (n, True) and work.gate(n) is not None}
        inside = {n for n in inverters if set(view.readers.get(n, ())) <= {y} or n == up}
        if not inside:
            continue
        first = inside.pop()
        source = view.gates[first].inputs[0]
        ports = [Port(source, Role.INPUT), Port(y, Role.OUTPUT)]
        sense = "" if (down == first) else "!"
        work.build("super buffer", {y, first}, set(), ports, f"{y} = {sense}{source}, driven both ways")


def find_level_shifters(work: Work) -> None:
    """Take two stages whose pull-ups, or pull-downs, are gated by each other's output, and the others are not."""
    view = work.view
    for net in list(view.gates):
        gate = work.gate(net)
        if gate is None or gate.kind != "torn":
            continue
        other = _crossed(work, net)
        if other is None or _crossed(work, other) != net or not net < other:
            continue
        ports = [Port(n, Role.INPUT) for g in (net, other) for n in view.gates[g].inputs if n not in (net, other)]
        first, second = sorted((net, other), key=view.place.__getitem__)
        ports += [Port(first, Role.OUTPUT), Port(second, Role.OUTPUT, first)]
        parts = tuple(view.single(i, g) for g in (first, second) for i in sorted(view.stages[g].members))
        held = literal(view.stages[net].pull.get((Kind.P, "high")))
        ups = held is not None and held[0] == other
        words = "crossed pull-ups; the pulled-down side wins" if ups else "crossed pull-downs; the pulled-up side wins"
        work.build("level shifter", {net, other}, set(), ports, words, parts=parts)


def _crossed(work: Work, net: str) -> str | None:
    """Return the net that alone gates one side of a stage, where the other does without it, and is crossed so too."""
    view = work.view
    if net not in view.stages or work.gate(net) is None:
        return None
    for side in ((Kind.P, "high"), (Kind.N, "low")):
        held = literal(view.stages[net].pull.get(side))
        other = view.stages[net].pull.get((Kind.N, "low") if side[0] is Kind.P else (Kind.P, "high"))
        if held is None or other is None or held[0] in variables(other) or held[0] == net:
            continue
        mate = view.stages.get(held[0])
        if mate is not None and literal(mate.pull.get(side)) == (net, held[1]):
            return held[0]
    return None


def find_precharged(work: Work) -> None:
    """Take precharged gates, with their inverter as domino gates."""
    view = work.view
    for net in list(view.gates):
        gate = work.gate(net)
        if gate is None or gate.kind != "precharged":
            continue
        ports = [Port(n, Role.INPUT) for n in gate.inputs] + [Port(n, Role.CLOCK) for n in gate.controls]
        function = f"{net} = {text(gate.form)} after precharge"
        readers = view.readers.get(net, [])
        steady = [r for r in readers if r != net]
        inverter = work.gate(steady[0]) if len(steady) == 1 else None
        if inverter is not None and inverter.inverter_of == net and net not in view.ports:
            y = inverter.output
            ports.append(Port(y, Role.OUTPUT))
            work.build("domino gate", {net, y}, set(), ports, f"{y} is the inverse of {function}")
        else:
            ports.append(Port(net, Role.OUTPUT))
            work.build("precharged gate", {net}, set(), ports, function)


def find_switched_inverters(work: Work) -> None:
    """Take an inverter and the switch behind it as a tri-state inverter, where the switch leads out alone."""
    view = work.view
    for k in sorted(work.free_links):
        link = view.links[k]
        if not link.source or link.term != "transmission gate" or not literal(link.when):
            continue
        gate, out = work.gate(link.source), link.sink
        if gate is None or gate.inverter_of is None or work.uses(link.source) != 1 or link.source in view.ports:
            continue
        if out in view.gates or out in view.readers or len(view.links_at[out]) != 1:
            continue
        ports = [Port(gate.inputs[0], Role.INPUT)]
        controls = view.ordered(link.controls)
        ports += [Port(n, Role.ENABLE, view.partner(n, controls)) for n in controls]
        ports.append(Port(out, Role.OUTPUT))
        function = f"{out} = !{gate.inputs[0]} while {text(link.when)}, else floating"
        work.build("tri-state inverter", {link.source}, {k}, ports, function)


def find_tristate_buffers(work: Work) -> None:
    """Take a tri-state inverter with the inverter that feeds nothing else."""
    view = work.view
    for net in sorted(work.free_gates, key=view.place.__getitem__):
        gate = work.gate(net)
        if gate is None or gate.term != "tri-state inverter":
            continue
        first = work.gate(gate.inputs[0])
        if first is None or first.inverter_of is None or work.uses(first.output) != 1:
            continue
        if first.output in view.ports:
            continue
        controls = view.ordered(gate.controls)
        ports = [Port(first.inputs[0], Role.INPUT)]
        ports += [Port(n, Role.ENABLE, view.partner(n, controls)) for n in controls] + [Port(net, Role.OUTPUT)]
        driven = text(gate.enable) if gate.enable is not None else "enabled"
        function = f"{net} = {first.inputs[0]} while {driven}, else floating"
        work.build("tri-state buffer", {net, first.output}, set(), ports, function)


def find_buses(work: Work) -> None:
    """Take nets that several tri-state stages drive, with the inverter that keeps their level where there is one."""
    for net in sorted(work.view.tri, key=work.view.place.__getitem__):
        if net in work.free_gates and len(work.view.tri[net]) > 1:
            _build_bus(work, net)


def _build_bus(work: Work, net: str) -> None:
    view = work.view
    drivers = view.tri[net]
    ports = [Port(n, Role.INPUT) for n in dict.fromkeys(n for g in drivers for n in g.inputs)]
    controls = view.ordered(n for g in drivers for n in g.controls)
    ports += [Port(n, Role.ENABLE, view.partner(n, controls)) for n in controls]
    keepers = {n for n in view.overrides.get(net, {}) if (g := work.gate(n)) is not None and g.inverter_of == net}
    ports += [Port(n, Role.OUTPUT) for n in (net, *keepers)]
    term = "bus with keeper" if keepers else "tri-state bus"
    words = f"one of {len(drivers)} stages drives {net}" + (
        "; a weak loop keeps its level" if keepers else ", else it floats"
    )
    parts = work.parts({net, *keepers}, set())
    work.build(term, {net, *keepers}, set(), ports, words, parts=parts)


def find_split_drivers(work: Work) -> None:
    """Take a pull-up and a pull-down with gates of their own, made by two gates that never close both."""
    view = work.view
    for net in list(view.gates):
        pull, kind = view.stages[net].pull, view.gates[net].kind
        downs, ups = (view.one_kind,) * 2 if kind == "push-pull" and view.one_kind else (Kind.N, Kind.P)
        low, high = literal(pull.get((downs, "low"))), literal(pull.get((ups, "high")))
        if work.gate(net) is None or kind not in ("torn", "push-pull") or low is None or high is None:
            continue
        down, up = work.gate(low[0]), work.gate(high[0])
        if down is None or up is None or down is up or not (view.steady(low[0]) and view.steady(high[0])):
            continue
        falls, rises = (
            view.rooted(gate.form) if straight else complement(view.rooted(gate.form))
            for gate, straight in ((down, low[1]), (up, high[1]))
        )
        names = tuple(sorted({*variables(falls), *variables(rises)}, key=view.place.__getitem__))
        ones, zeros = truth(rises, names), truth(falls, names)
        full = (1 << (1 << len(names))) - 1
        driven = minimal(ones | zeros, names)
        value = minimal(ones, names, full & ~(ones | zeros))
        if ones & zeros or set(variables(driven)) & set(variables(value)):
            continue
        if kind == "push-pull" and not variables(driven):
            continue  # one of the two always conducts
        term = {"inverter": "tri-state inverter", "buffer": "tri-state buffer"}.get(
            static_term(value), "tri-state gate"
        )
        reads = list(dict.fromkeys((*down.inputs, *up.inputs)))
        controls = view.ordered(n for n in reads if view.root(n)[0] in variables(driven))
        ports = [Port(n, Role.INPUT) for n in reads if n not in controls]
        ports += [Port(n, Role.ENABLE, view.partner(n, controls)) for n in controls] + [Port(net, Role.OUTPUT)]
        function = f"{net} = {text(value)} while {text(driven)}, else floating"
        work.build(term, {net, low[0], high[0]}, set(), ports, function)


def absorb_controls(work: Work, newest: Built | None = None) -> None:
    """Give each structure, or only the newest, the inverters that feed nothing but its own controls."""
    view = work.view
    changed = True
    while changed:
        changed = False
        free = work.free_gates
        some = free if newest is None else free.intersection(newest.structure.nets(*_CONTROLS))
        for net in sorted(some, key=view.place.__getitem__):
            gate = work.gate(net)
            if gate is None or gate.inverter_of is None or net in view.ports or net in view.links_at:
                continue
            users = {work.owner.get(r) for r in view.readers.get(net, ())}
            users |= {work.link_owner.get(k) for k in view.controlled.get(net, ())}
            if len(users) != 1 or None in users:
                continue
            (number,) = users
            assert number is not None
            if _absorb(work, number, gate):
                changed = True


_CONTROLS = (Role.CLOCK, Role.ENABLE, Role.SELECT, Role.WORD_LINE)


def _absorb(work: Work, number: int, gate: Gate) -> bool:
    built = work.built[number]
    old = built.structure
    source = gate.inputs[0]
    mine = [p for p in old.ports if p.net == gate.output]
    if not mine or mine[0].role not in _CONTROLS:
        return False
    role = mine[0].role
    ports = [p for p in old.ports if p.net != gate.output]
    ports = [Port(p.net, p.role) if p.complement_of == gate.output else p for p in ports]
    if all(p.net != source for p in ports):
        at = [p.net for p in old.ports].index(gate.output)
        ports.insert(min(at, len(ports)), Port(source, role))
    parts = (*(old.parts or (old,)), work.view.gate_structure(gate))
    order = work.view.order
    names = tuple(sorted((*old.transistors, *work.view.names(gate.members)), key=order.__getitem__))
    built.structure = type(old)(old.term, names, tuple(ports), parts, old.function, old.notes, old.also)
    built.gates.add(gate.output)
    work.owner[gate.output] = number
    work.free_gates.discard(gate.output)
    return True


def find_schmitts(work: Work) -> None:
    """Take Schmitt inverters, which are one stage."""
    for net in list(work.view.gates):
        gate = work.gate(net)
        if gate is not None and gate.kind == "Schmitt":
            ports = [Port(gate.inputs[0], Role.INPUT), Port(net, Role.OUTPUT)]
            work.build("Schmitt inverter", {net}, set(), ports, f"{net} = !{gate.inputs[0]}, with two thresholds")
