"""Find FIFO slices: a word store that loads when its own marker is empty, with the logic that sets the marker."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.decoders import kind_of
from layoutdrill.recognise.joining import merge
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View

_WORDS = ("register row", "latch", "register bit", "dynamic latch")
_LOGIC = ("inverter", "buffer", "NAND", "NOR", "AND", "OR", "AOI", "OAI", "AO", "OA", "complex gate")
_CONTROLS = (Role.CLOCK, Role.ENABLE)
DEEPEST = 4


def find_markers(view: View, structures: list[Structure]) -> list[Structure]:
    """Put a marker together: a set-reset pair, a latch behind it, and the gates by which the latch sets the pair."""
    result = list(structures)
    drivers = {net: s for s in structures for net in s.nets(Role.OUTPUT)}
    taken: set[Structure] = set()
    for pair in [s for s in structures if s.term == "SR latch"]:
        behind = [s for s in structures if s.term == "latch" and set(s.nets(Role.DATA)) & set(pair.nets(Role.OUTPUT))]
        if len(behind) != 1 or behind[0] in taken:
            continue
        flags = set(behind[0].nets(Role.OUTPUT))
        forcing = pair.nets(Role.SET, Role.RESET)
        loads = {net: way for net in forcing if (way := _ways_back(drivers, net, flags, DEEPEST))}
        if not loads:
            continue
        inside = dict.fromkeys((pair, *behind, *loads[_own_load(view, structures, pair, behind[0], loads)]))
        for net in forcing:
            s = drivers.get(net)
            if s is not None and kind_of(s.term) in _LOGIC and _only_for(view, s, pair):
                inside[s] = None
        parts = [s for s in inside if s not in taken]
        taken |= set(inside)
        result = [s for s in result if s not in inside]
        result.append(_marker(view, parts, [s for s in structures if s not in inside]))
    return result


def _ways_back(drivers: dict[str, Structure], net: str, flags: set[str], depth: int) -> list[Structure]:
    """Return the logic on all ways back from a net to those told, at most `depth` structures long."""
    s = drivers.get(net)
    if s is None or kind_of(s.term) not in _LOGIC:
        return []
    logic: dict[Structure, None] = {}
    for source in s.nets(Role.INPUT):
        if source in flags:
            logic[s] = None
        elif depth > 1 and (more := _ways_back(drivers, source, flags, depth - 1)):
            logic |= dict.fromkeys((s, *more))
    return list(logic)


def _own_load(
    view: View, structures: list[Structure], pair: Structure, latch: Structure, loads: dict[str, list[Structure]]
) -> str:
    """Return which of the nets that force a marker is its own load line: its word feeds that of the other line."""
    words = {net: _loaded(view, structures, {net}) for net in loads}
    for net, mine in words.items():
        given = {n for s in mine for n in s.nets(Role.OUTPUT)}
        if any(given & set(s.nets(Role.DATA)) for other, theirs in words.items() if other != net for s in theirs):
            return net
    straight = latch.nets(Role.DATA)[0] == pair.nets(Role.OUTPUT)[0]
    wanted = pair.nets(Role.SET if straight else Role.RESET)
    return next((net for net in loads if net in wanted), next(iter(loads)))


def _loaded(view: View, structures: list[Structure], lines: set[str]) -> list[Structure]:
    """Return the stores that some lines, or their complements, control."""
    roots = {view.root(n)[0] for n in lines}
    return [s for s in structures if s.term in _WORDS and any(view.root(n)[0] in roots for n in s.nets(*_CONTROLS))]


def _outputs(view: View, driven: set[str], others: list[Structure]) -> list[Port]:
    """Return those of the driven nets that are ports or that other structures read."""
    read = {p.net for s in others for p in s.ports if p.role is not Role.OUTPUT} | view.ports
    return [Port(n, Role.OUTPUT) for n in sorted(driven & read, key=view.place.__getitem__)]


def _marker(view: View, parts: list[Structure], others: list[Structure]) -> Structure:
    driven = {n for s in parts for n in s.nets(Role.OUTPUT)}
    ports = [p for s in parts for p in s.ports if p.role is not Role.OUTPUT and p.net not in driven]
    roles = {Role.ENABLE: Role.CLOCK}
    pairs, latches = ([s for s in parts if s.term == term] for term in ("SR latch", "latch"))
    if pairs and latches and latches[0].nets(Role.DATA)[0] != pairs[0].nets(Role.OUTPUT)[0]:
        roles |= {Role.SET: Role.RESET, Role.RESET: Role.SET}  # told by the output that the latch takes
    ports = [Port(p.net, roles.get(p.role, p.role), p.complement_of) for p in ports]
    ports += _outputs(view, driven, others)
    return merge(view, "marker", parts, ports, "set when its stage loads, cleared when the next one takes over")


def find_slices(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with each word store, its marker and their logic put together."""
    result = list(structures)
    for marker in [s for s in structures if s.term == "marker"]:
        driven = {n for part in marker.parts for n in part.nets(Role.OUTPUT)}
        words = _loaded(view, result, driven)
        if words:
            gone = {*words, marker}
            result = [s for s in result if s not in gone]
            result.append(_joined_slice(view, words, marker, result))
    if any(s.term == "SR latch" for s in result):
        for word in [s for s in result if s.term in _WORDS]:
            joined = _slice(view, result, word)
            if joined is not None:
                merged, gone = joined
                result = [s for s in result if s not in gone] + [merged]
    return result


def _joined_slice(view: View, words: list[Structure], marker: Structure, others: list[Structure]) -> Structure:
    """Return a slice of stores and the marker that was found to load them."""
    driven = {n for part in marker.parts for n in part.nets(Role.OUTPUT)}
    ports = [p for s in words for p in s.ports if p.role in (Role.DATA, Role.OUTPUT)]
    ports += [p for p in marker.ports if p.role is not Role.OUTPUT]
    ports += _outputs(view, driven, others)
    function = "loads a word while its marker is empty and the stage before holds one"
    return merge(view, "FIFO slice", [*words, marker], ports, function)


def _slice(view: View, structures: list[Structure], word: Structure) -> tuple[Structure, set[Structure]] | None:
    drivers = {net: s for s in structures for net in s.nets(Role.OUTPUT)}
    logic: dict[Structure, None] = {}
    front = {view.root(n)[0] for n in word.nets(Role.CLOCK, Role.ENABLE)} | set(word.nets(Role.CLOCK, Role.ENABLE))
    marker: Structure | None = None
    for _ in range(DEEPEST):
        nxt: set[str] = set()
        for net in sorted(front):
            s = drivers.get(net)
            if s is None or s is word:
                continue
            if s.term == "SR latch":
                marker = marker or s
            elif kind_of(s.term) in _LOGIC:
                logic[s] = None
                nxt |= set(s.nets(Role.INPUT))
        front = nxt
    if marker is None or not logic:
        return None
    inside = {word, marker, *logic}
    for net in marker.nets(Role.SET, Role.RESET):  # what sets and clears the marker belongs to it
        s = drivers.get(net)
        if s is not None and kind_of(s.term) in _LOGIC and _only_for(view, s, marker):
            logic[s] = None
            inside.add(s)
    parts = [marker, *logic]
    order = view.order
    names = tuple(sorted((n for p in parts for n in p.transistors), key=order.__getitem__))
    driven = {n for p in (*parts, word) for n in p.nets(Role.OUTPUT)}
    inputs = [Port(p.net, p.role) for s in parts for p in s.ports if p.role is not Role.OUTPUT and p.net not in driven]
    flags = [Port(n, Role.OUTPUT) for n in marker.nets(Role.OUTPUT)]
    control = Structure("marker", names, (*inputs, *flags), tuple(parts), "says whether the stage holds a word")
    outer = [p for p in word.ports if p.role in (Role.DATA, Role.OUTPUT)]
    ports = tuple(dict.fromkeys((*outer, *inputs, *flags)))
    everything = tuple(sorted((*names, *word.transistors), key=order.__getitem__))
    function = "loads a word while its marker is empty and the stage before holds one"
    return Structure("FIFO slice", everything, ports, (word, control), function), inside


def _only_for(view: View, s: Structure, marker: Structure) -> bool:
    """Tell whether a gate feeds nothing but the marker."""
    inside = {n for p in (marker, *marker.parts) for n in p.nets(Role.OUTPUT)}
    return all(set(view.readers.get(n, ())) <= inside and n not in view.ports for n in s.nets(Role.OUTPUT))
