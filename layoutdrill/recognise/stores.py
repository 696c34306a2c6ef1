"""Turn the stores that were found into structures: latches, register bits, shift-register bits, memory bits."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.pairing import opposite, pair_registers
from layoutdrill.recognise.work import Called, Store, Work, literal
from layoutdrill.simulate.expression import Expression, text, variables

_MEMORY_BIT = Called("memory bit", ("register bit", "latch"))


def build_stores(work: Work, stores: list[Store]) -> None:
    """Build pairs first (register bits, shift-register bits), then what is left."""
    for master, slave in pair_registers(work, stores):
        if work.free(master.gates | slave.gates, master.links | slave.links) and not master.gates & slave.gates:
            _register(work, master, slave)
    for store in stores:
        if not work.free(store.gates, store.links):
            continue
        if store.static:
            _latch(work, store)
        elif store.gates - {store.node}:
            _build_dynamic(work, store)


def _outputs(work: Work, store: Store, inside: set[str], inside_links: set[int]) -> list[str]:
    """Return the nets of a store that something outside reads, or that are ports; the node alone where none is."""
    view = work.view
    ports = view.ports
    seen = []
    for net in store.outputs:
        read = any(r not in inside for r in view.readers.get(net, ()))
        linked = any(k not in inside_links for k in (*view.links_at.get(net, ()), *view.controlled.get(net, ())))
        if net in ports or read or linked:
            seen.append(net)
    seen = seen or [net for net in store.outputs if net != store.node] or [store.node]
    return sorted(seen, key=lambda n: (n not in ports, view.place[n]))


def _control_ports(work: Work, controls: tuple[str, ...], role: Role) -> list[Port]:
    view = work.view
    ordered = view.ordered(controls)
    return [Port(net, role, view.partner(net, ordered)) for net in ordered]


def _forcing(work: Work, store: Store, outputs: list[str]) -> list[Port]:
    """Return the nets that set or reset a store, judged at the first port that its output reaches."""
    view = work.view
    output = outputs[0]
    sense = store.outputs.get(output, True)
    for port in view.netlist.ports:
        root, straight = view.root(port)
        if root == output and port != output:
            sense = sense == straight
            break
    ports = []
    for net, (at, level) in store.forced.items():
        value = level == 1 if store.outputs.get(at, True) == sense else level == 0
        ports.append(Port(net, Role.SET if value else Role.RESET))
    return ports


def _half(work: Work, store: Store, role: Role) -> Structure:
    outputs = _outputs(work, store, store.gates, store.links)
    ports = [Port(d, Role.DATA) for d in store.data] + _control_ports(work, store.controls, role)
    ports += [Port(n, Role.OUTPUT) for n in outputs]
    term = "latch" if store.static else "dynamic latch"
    return Structure(
        term,
        work.members(store.gates, store.links),
        tuple(ports),
        work.parts(store.gates, store.links),
        f"open while {_enable_words(store.enable)}; stores on {store.node}",
    )


def _register(work: Work, master: Store, slave: Store) -> None:
    gates, links = master.gates | slave.gates, master.links | slave.links
    for net in slave.data:
        gates |= _between(work, net, master, gates)
    outputs = _outputs(work, slave, gates, links)
    clocks = _control_ports(work, (*master.controls, *slave.controls), Role.CLOCK)
    ports = [Port(d, Role.DATA) for d in master.data if d not in gates]
    ports += clocks
    ports += [Port(n, Role.ENABLE) for n in (*master.holds, *slave.holds)]
    ports += _forcing(work, slave, outputs) + _forcing(work, master, list(master.outputs))
    ports += [Port(n, Role.OUTPUT) for n in outputs]
    halves = (_half(work, master, Role.CLOCK), _half(work, slave, Role.CLOCK))
    rest = gates - master.gates - slave.gates
    parts = (*halves, *work.parts(rest, set()))
    data = ", ".join(d for d in master.data if d not in gates) or ", ".join(master.data)
    if opposite(master.enable, slave.enable):
        phase = literal(slave.enable)
        edge = (
            f"the {'rise' if phase[1] else 'fall'} of {phase[0]}"
            if phase
            else f"the edge into {_enable_words(slave.enable)}"
        )
        how = "" if slave.static and master.static else "; holds by charge"
        work.build("register bit", gates, links, ports, f"takes {data} at {edge}{how}", parts=parts)
    else:
        first, second = (" and ".join(_clock_of(s.enable)) for s in (master, slave))
        function = f"takes {data} on {first}, hands it on on {second}"
        called = Called("shift-register bit", ("register bit",))
        work.build(called, gates, links, ports, function, parts)


def _between(work: Work, net: str, master: Store, gates: set[str]) -> set[str]:
    """Return the steady gates between a master's outputs and the slave's data net."""
    view = work.view
    between: set[str] = set()
    while net not in master.outputs and net in work.free_gates and view.steady(net) and net not in gates:
        between.add(net)
        nxt = [n for n in view.gates[net].inputs if n in master.outputs] or list(view.gates[net].inputs)[:1]
        if not nxt:
            break
        net = nxt[0]
    return between if net in master.outputs else set()


def _latch(work: Work, store: Store) -> None:
    view = work.view
    gates, links = set(store.gates), set(store.links)
    outputs = _outputs(work, store, gates, links)
    enables = _control_ports(work, store.controls, Role.ENABLE)
    data = [Port(d, Role.DATA) for d in store.data if d not in gates]
    others = _forcing(work, store, outputs)
    readers = [n for net in store.outputs for n in view.readers.get(net, ()) if n in work.free_gates - gates]
    reads = [n for n in readers if view.gates[n].kind == "tri-state" and len(view.tri.get(n, ())) == 1]
    if len(reads) == 1 and all(n in reads or n in gates for n in readers):
        read = view.gates[reads[0]]
        half = _half(work, store, Role.ENABLE)
        ports = [
            *data,
            *enables,
            *_control_ports(work, read.controls, Role.ENABLE),
            *others,
            Port(read.output, Role.OUTPUT),
        ]
        parts = (half, view.gate_structure(read))
        function = f"takes {', '.join(store.data)} while {_enable_words(store.enable)}; read out on {read.output}"
        work.build(_MEMORY_BIT, gates | set(reads), links, ports, function, parts)
        return
    passes = [
        k for net in store.outputs for k in view.links_at.get(net, ())
        if k in work.free_links - links and view.links[k].source == net and view.links[k].sink in view.ports
    ]  # fmt: skip
    if len(passes) == 1 and not readers and view.links[passes[0]].sink not in view.readers:
        link = view.links[passes[0]]
        half = _half(work, store, Role.ENABLE)
        ports = [
            *data,
            *enables,
            *_control_ports(work, link.controls, Role.ENABLE),
            *others,
            Port(link.sink, Role.OUTPUT),
        ]
        function = f"takes {', '.join(store.data)} while {_enable_words(store.enable)}; read out on {link.sink}"
        parts = (half, view.link_structure(link))
        work.build(_MEMORY_BIT, gates, links | set(passes), ports, function, parts)
        return
    ports = [*data, *enables, *others]
    ports += [Port(n, Role.OUTPUT) for n in outputs]
    function = f"follows {', '.join(store.data)} while {_enable_words(store.enable)}, else holds"
    work.build("latch", gates, links, ports, function)


def _build_dynamic(work: Work, store: Store) -> None:
    outputs = [n for n in store.outputs if n != store.node]
    ports = [Port(d, Role.DATA) for d in store.data] + _control_ports(work, store.controls, Role.ENABLE)
    ports += [Port(n, Role.OUTPUT) for n in outputs]
    function = (
        f"takes {', '.join(store.data)} while {_enable_words(store.enable)}, else holds by the charge on {store.node}"
    )
    work.build("dynamic latch", store.gates, store.links, ports, function)


def _enable_words(enable: Expression | None) -> str:
    phase = literal(enable)
    if phase:
        return f"{phase[0]} is {int(phase[1])}"
    return text(enable) if enable is not None else "enabled"


def _clock_of(enable: Expression | None) -> tuple[str, ...]:
    return variables(enable) if enable is not None else ()
