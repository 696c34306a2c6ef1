"""Find FIFO slices: a word store that loads when its own marker is empty, with the logic that sets the marker."""

from layoutdrill.recognise.model import Port, Role, Structure
from layoutdrill.recognise.view import View

_WORDS = ("register row", "latch", "register bit", "dynamic latch")
_LOGIC = ("inverter", "buffer", "NAND", "NOR", "AND", "OR", "AOI", "OAI", "AO", "OA", "complex gate")
DEEPEST = 4


def find_markers(view: View, structures: list[Structure]) -> list[Structure]:
    """Put a marker together: a set-reset pair, a latch behind it, and the gate by which the latch sets the pair."""
    result = list(structures)
    drivers = {net: s for s in structures for net in s.nets(Role.OUTPUT)}
    for pair in [s for s in structures if s.term == "SR latch"]:
        behind = [s for s in result if s.term == "latch" and set(s.nets(Role.DATA)) & set(pair.nets(Role.OUTPUT))]
        if len(behind) != 1:
            continue
        parts = {id(s): s for s in (pair, behind[0])}
        told = set(behind[0].nets(Role.OUTPUT))
        closed = False
        front = set(pair.nets(Role.SET, Role.RESET))
        for _ in range(DEEPEST):
            found = [s for n in sorted(front) if (s := drivers.get(n)) is not None and id(s) not in parts]
            found = [s for s in found if s.term.rstrip("0123456789") in _LOGIC]
            for s in found:
                parts[id(s)] = s
            front = {n for s in found for n in s.nets(Role.INPUT)}
            if front & told:
                closed = True
                break
        if not closed:
            continue
        inside = list(parts.values())
        names = tuple(sorted((n for s in inside for n in s.transistors), key=view.order.__getitem__))
        driven = {n for s in inside for n in s.nets(Role.OUTPUT)}
        ports = [p for s in inside for p in s.ports if p.role is not Role.OUTPUT and p.net not in driven]
        ports = [Port(p.net, Role.CLOCK if p.role is Role.ENABLE else p.role, p.complement_of) for p in ports]
        ports += [Port(n, Role.OUTPUT) for n in view.netlist.ports if n in driven]
        merged = Structure("marker", names, tuple(dict.fromkeys(ports)), tuple(inside),
                           "set when its stage loads, cleared when the next one takes over")  # fmt: skip
        result = [s for s in result if id(s) not in parts] + [merged]
    return result


def find_slices(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with each word store, its marker and their logic put together."""
    result = list(structures)
    if not any(s.term == "SR latch" for s in structures):
        return result
    for word in [s for s in structures if s.term in _WORDS]:
        found = _slice(view, result, word)
        if found is not None:
            merged, gone = found
            result = [s for s in result if id(s) not in gone] + [merged]
    return result


def _slice(view: View, structures: list[Structure], word: Structure) -> tuple[Structure, set[int]] | None:
    drivers = {net: s for s in structures for net in s.nets(Role.OUTPUT)}
    logic: dict[int, Structure] = {}
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
            elif s.term.rstrip("0123456789") in _LOGIC:
                logic[id(s)] = s
                nxt |= set(s.nets(Role.INPUT))
        front = nxt
    if marker is None or not logic:
        return None
    inside = {id(word), id(marker), *logic}
    for net in marker.nets(Role.SET, Role.RESET):  # what sets and clears the marker belongs to it
        s = drivers.get(net)
        if s is not None and s.term.rstrip("0123456789") in _LOGIC and _only_for(view, s, marker):
            logic[id(s)] = s
            inside.add(id(s))
    parts = [marker, *logic.values()]
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
    return all(set(view.readers.get(n, ())) <= inside and n not in view.netlist.ports for n in s.nets(Role.OUTPUT))
