"""Write a hierarchy as SPICE: a subcircuit a block, instances of them above, the ports of the whole as they were."""

from layoutdrill.export.hierarchy import Block, Hierarchy
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.spice import write_spice


def spice_text(hierarchy: Hierarchy) -> str:
    """
    Return the text; flattened again it is the circuit that it came from, device for device and port for port.

    A rail that is a port of the whole is handed down to each block that uses it, as SPICE programs differ over a port
    that is global too; one that is no port is global.
    """
    whole = hierarchy.top.netlist
    handed = tuple(rail for rail in hierarchy.rails if rail in whole.ports)
    shared = [rail for rail in hierarchy.rails if rail not in whole.ports and rail != "0"]
    lines = [f"* {hierarchy.top.name}: {len(whole.transistors)} transistors in blocks"]
    lines += [f".global {' '.join(shared)}"] if shared else []
    rails = {block.name: tuple(rail for rail in handed if rail in block.netlist.nets) for block in hierarchy.blocks}
    ports = {block.name: (*block.ports, *rails[block.name]) for block in hierarchy.blocks}
    ports[hierarchy.top.name] = whole.ports
    for block in hierarchy.blocks:
        lines += ["", *_subcircuit(block, ports)]
    return "\n".join(lines) + "\n"


def _subcircuit(block: Block, ports: dict[str, tuple[str, ...]]) -> list[str]:
    own = Netlist(block.name, ports[block.name], block.transistors, block.elements)
    body = write_spice(own).rstrip("\n").split("\n")
    end = body.pop()
    title = [f"* {block.term}"] if block.term else []
    instances = [
        # a port that leads nowhere else is a rail, and called alike inside and outside
        " ".join([place.name, *(place.joined.get(port, port) for port in ports[place.block]), place.block])
        for place in block.places
    ]
    return [*title, *body, *instances, end]
