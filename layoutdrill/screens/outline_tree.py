"""The outline of what was read, as a tree: slips first, then the structures from the top down."""

from textual.widgets import Tree
from textual.widgets.tree import TreeNode

from layoutdrill.netlist.model import Netlist
from layoutdrill.reading.explanation import Explanation, slip_text
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.outline import Entry, outline
from layoutdrill.screens.schematic import schematic

LARGEST = 40
"""Structures of more transistors are told by their parts, not drawn."""
MOST_LISTED = 200


class OutlineTree(Tree[str]):
    """A tree whose lines each carry what is to be said of them; the cursor chooses."""

    def show_reading(self, found: Explanation, rails: tuple[str, str], everything: str) -> None:
        """Fill the tree: the whole at the root, slips first where there are any, then the outline."""
        self.clear()
        self.root.set_label(f"{found.netlist.name}: {found.heading}")
        self.root.data = everything
        if found.slips:
            slips = self.root.add(
                f"slips ({len(found.slips)})", data="\n\n".join(slip_text(s, found) for s in found.slips)
            )
            for s in found.slips[:MOST_LISTED]:
                around = _around(found.netlist, set(s.transistors), s.nets)
                slips.add_leaf(f"{s.kind}: {', '.join(s.transistors[:3]) or ', '.join(s.nets[:2])}",
                               data=f"{slip_text(s, found)}\n\n{_drawn(around, rails)}")  # fmt: skip
            slips.expand()
        for entry in outline(found.recognition.structures):
            self._add(self.root, entry, found.netlist, rails)
        self.root.expand()

    def _add(self, above: TreeNode[str], entry: Entry, netlist: Netlist, rails: tuple[str, str]) -> None:
        """Add an entry and what it is made of; of several alike, each is a line of its own below."""
        label = f"{entry.count} × {entry.term}" if entry.count > 1 else entry.term
        if entry.count == 1:
            node = above.add(label, data=_told(entry.places[0], netlist, rails), allow_expand=bool(entry.parts))
            for part in entry.parts:
                self._add(node, part, netlist, rails)
            return
        node = above.add(label, data=_told(entry.places[0], netlist, rails))
        for place in entry.places[:MOST_LISTED]:
            outputs = ", ".join(p.net for p in place.ports[-2:])
            each = node.add(
                f"{entry.term} at {outputs}", data=_told(place, netlist, rails), allow_expand=bool(place.parts)
            )
            for part in outline(place.parts):
                self._add(each, part, netlist, rails)


def _told(s: Structure, netlist: Netlist, rails: tuple[str, str]) -> str:
    """Return what there is to say of a structure, with its schematic where it is small."""
    lines = [f"{s.term}, {len(s.transistors)} transistors"]
    lines += [s.function] if s.function else []
    lines += list(s.notes)
    lines += ["", *(f"{p.net}: {p.role}" for p in s.ports[:24])]
    if 0 < len(s.transistors) <= LARGEST:
        lines += ["", _drawn(_around(netlist, set(s.transistors), tuple(p.net for p in s.ports)), rails)]
    else:
        lines += ["", *(f"{e.count} × {e.term}" for e in outline(s.parts))]
    return "\n".join(lines)


def _around(netlist: Netlist, names: set[str], nets: tuple[str, ...]) -> Netlist:
    """Return the part of a netlist that some transistors are; its ports are the nets that lead outside."""
    own = tuple(t for t in netlist.transistors if t.name in names)
    inside = {n for t in own for n in t.terminals}
    outside = {n for t in netlist.transistors if t.name not in names for n in t.terminals} | set(netlist.ports)
    ports = tuple(n for n in dict.fromkeys((*nets, *sorted(inside & outside))) if n in inside)
    return Netlist(netlist.name, ports, own)


def _drawn(part: Netlist, rails: tuple[str, str]) -> str:
    return schematic(part, rails) if part.transistors else ""
