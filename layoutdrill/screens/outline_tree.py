"""The outline of what was read, as a tree: slips first, then the structures from the top down."""

from textual.widgets import Tree
from textual.widgets.tree import TreeNode

from layoutdrill.extract.naming import natural
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.explanation import Explanation, slip_text
from layoutdrill.reading.slips import Slip
from layoutdrill.reading.slips.repairs import group_of
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.outline import Entry, outline
from layoutdrill.screens.block_schematic import block_schematic
from layoutdrill.screens.schematic import schematic
from layoutdrill.value import value

LARGEST = 40
"""Structures of more transistors are drawn by their parts, each a box, not by their transistors."""
MOST_LISTED = 200


@value
class Chosen:
    """What a line of the tree stands for: words, and what is drawn below them once it is chosen."""

    words: str
    transistors: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()
    parts: tuple[Structure, ...] = ()

    def text(self, netlist: Netlist, rails: tuple[str, str], width: int) -> str:
        """Return the words with the schematic: by transistors where there are few, else by parts."""
        drawing = ""
        if 0 < len(self.transistors) <= LARGEST:
            drawing = schematic(_around(netlist, set(self.transistors), self.nets), rails, width)
        elif self.parts:
            drawing = block_schematic(self.parts, width)
        return f"{self.words}\n\n{drawing}" if drawing else self.words


class OutlineTree(Tree[Chosen]):
    """A tree whose lines each carry what is to be said and drawn of them; the cursor chooses."""

    def show_reading(self, read: Explanation, everything: str) -> None:
        """Fill the tree: the whole at the root, slips first where there are any, then the outline."""
        self.clear()
        whole = read.recognition.structures
        names = tuple(t.name for t in read.netlist.transistors)
        self.root.set_label(f"{read.netlist.name}: {read.heading}")
        self.root.data = Chosen(everything, names, read.netlist.ports, whole)
        if read.slips:
            slips = self.root.add(f"slips ({len(read.slips)})", data=Chosen(
                "\n\n".join(slip_text(s, read) for s in read.slips), (), tuple(n for s in read.slips for n in s.nets)
            ))  # fmt: skip
            for s in read.slips[:MOST_LISTED]:
                at = _stages_at(read, s)
                slips.add_leaf(f"{s.kind}: {', '.join(s.transistors[:3]) or ', '.join(s.nets[:2])}",
                               data=Chosen(slip_text(s, read), at, s.nets))  # fmt: skip
            slips.expand()
        for entry in outline(whole):
            self._add(self.root, entry)
        self.root.expand()

    def _add(self, above: TreeNode[Chosen], entry: Entry) -> None:
        """Add an entry and what it is made of; of several alike, each is a line of its own below."""
        if entry.count == 1:
            node = above.add(entry.term, data=_chosen(entry.places[0]), allow_expand=bool(entry.parts))
            for part in entry.parts:
                self._add(node, part)
            return
        names = tuple(n for place in entry.places for n in place.transistors)
        words = f"{entry.count} × {entry.term}, {entry.size} transistors each"
        node = above.add(f"{entry.count} × {entry.term}", data=Chosen(words, names, (), entry.places))
        for place in sorted(entry.places, key=lambda s: natural(_at(s)))[:MOST_LISTED]:
            each = node.add(f"{entry.term} at {_at(place)}", data=_chosen(place), allow_expand=bool(place.parts))
            for part in outline(place.parts):
                self._add(each, part)


def _chosen(s: Structure) -> Chosen:
    """Return what there is to say and draw of a structure."""
    lines = [f"{s.term}, {len(s.transistors)} transistors"]
    lines += [s.function] if s.function else []
    lines += list(s.notes)
    order = list(dict.fromkeys(p.role for p in s.ports))
    ports = sorted(s.ports, key=lambda p: (order.index(p.role), natural(p.net)))
    lines += ["", *(f"{p.net}: {p.role}" for p in ports[:24])]
    if len(s.transistors) > LARGEST:
        lines += ["", *(f"{e.count} × {e.term}" for e in outline(s.parts))]
    return Chosen("\n".join(lines), s.transistors, tuple(p.net for p in s.ports), s.parts)


def _at(s: Structure) -> str:
    """Return the nets that tell a structure from its likes: of a cell in an array word and bit, else what it drives."""
    word, bits = s.nets(Role.WORD_LINE), s.nets(Role.BIT_LINE)
    if word and bits:
        return f"{word[0]}, {min(bits, key=natural)}"
    return ", ".join(p.net for p in s.ports[-2:])


def _stages_at(explanation: Explanation, slip: Slip) -> tuple[str, ...]:
    """Return the transistors of the stages that a slip is told of, those that it names first; too many: these alone."""
    ends = {n for t in explanation.netlist.transistors if t.name in slip.transistors for n in t.ends}
    nets = (ends or set(slip.nets)) - explanation.recognition.supplies.nets
    groups = [group_of(explanation.netlist, explanation.recognition.supplies, net) for net in sorted(nets)]
    whole = tuple(dict.fromkeys((*slip.transistors, *(t.name for group in groups for t in group))))
    return whole if len(whole) <= LARGEST else slip.transistors


def _around(netlist: Netlist, names: set[str], nets: tuple[str, ...]) -> Netlist:
    """Return the part of a netlist that some transistors are; its ports are the nets that lead outside."""
    own = tuple(t for t in netlist.transistors if t.name in names)
    inside = {n for t in own for n in t.terminals}
    outside = {n for t in netlist.transistors if t.name not in names for n in t.terminals} | set(netlist.ports)
    ports = tuple(n for n in dict.fromkeys((*nets, *sorted(inside & outside))) if n in inside)
    return Netlist(netlist.name, ports, own)
