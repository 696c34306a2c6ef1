"""Write a hierarchy as SPICE: a subcircuit for each block, instances of them above, the rails global."""

from layoutdrill.export.hierarchy import Block, Hierarchy
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.spice import write_spice


def spice_text(hierarchy: Hierarchy) -> str:
    """Return the text; flattened again it is the circuit that it came from, device for device."""
    rails = [net for net in hierarchy.rails if net != "0"]
    lines = [f"* {hierarchy.top.name}: {len(hierarchy.top.netlist.transistors)} transistors in blocks"]
    lines += [f".global {' '.join(rails)}"] if rails else []
    for block in hierarchy.blocks:
        lines += ["", *_subcircuit(block, hierarchy)]
    return "\n".join(lines) + "\n"


def _subcircuit(block: Block, hierarchy: Hierarchy) -> list[str]:
    own = Netlist(block.name, block.ports, block.transistors, block.elements)
    body = write_spice(own).rstrip("\n").split("\n")
    end = body.pop()
    title = [f"* {block.term}"] if block.term else []
    ports = {each.name: each.ports for each in hierarchy.blocks}
    instances = [
        " ".join([place.name, *(place.joined[port] for port in ports[place.block]), place.block])
        for place in block.places
    ]
    return [*title, *body, *instances, end]
