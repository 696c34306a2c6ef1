"""What recognition finds: a tree of structures, each with its transistors and its ports by role."""

from collections.abc import Iterator

from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import identity, value


@value
class Port:
    """A net at the border of a structure; `complement_of` names the net whose opposite it carries."""

    net: str
    role: Role
    complement_of: str | None = None


@value
@identity
class Structure:
    """
    One structure by its canonical term (`recognise.terms`), equal to itself only: two like ones are two.

    `also` are terms that the same transistors may go by. `function` is in words or an equation (`y = !(a*b)`).
    """

    term: str
    transistors: tuple[str, ...]
    ports: tuple[Port, ...]
    parts: tuple["Structure", ...] = ()
    function: str = ""
    notes: tuple[str, ...] = ()
    also: tuple[str, ...] = ()

    def nets(self, *roles: Role) -> tuple[str, ...]:
        """Return the nets with one of these roles, in order."""
        return tuple(port.net for port in self.ports if port.role in roles)

    def walk(self) -> Iterator["Structure"]:
        """Yield the structure and all its parts, outermost first."""
        yield self
        for part in self.parts:
            yield from part.walk()

    def text(self, indent: int = 0) -> str:
        """Return the tree in plain text, two spaces a level."""
        pad = "  " * indent
        ports = ", ".join(f"{p.net} {p.role}" for p in self.ports)
        size = len(self.transistors)
        line = f"{pad}{self.term} ({size} transistor{'' if size == 1 else 's'}; {ports})"
        if self.function:
            line += f": {self.function}"
        return "\n".join([line, *(f"{pad}  {note}" for note in self.notes), *(p.text(indent + 1) for p in self.parts)])


@value
class Recognition:
    """
    The whole of a netlist. `term` names it as one thing, or is the unknown structure; `heading` says what it is in any
    case, by its parts.

    `structures` are the outermost structures found, `ports` the netlist's ports by role, `leftover` the transistors
    that fit nothing known.
    """

    netlist: Netlist
    supplies: Supplies
    term: str
    also: tuple[str, ...]
    structures: tuple[Structure, ...]
    ports: tuple[Port, ...]
    leftover: tuple[str, ...]
    notes: tuple[str, ...]
    heading: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        return (self.term, *self.also)

    def role(self, net: str) -> Role | None:
        return next((port.role for port in self.ports if port.net == net), None)

    def nets(self, *roles: Role) -> tuple[str, ...]:
        return tuple(port.net for port in self.ports if port.role in roles)

    def all(self) -> Iterator[Structure]:
        for structure in self.structures:
            yield from structure.walk()

    def text(self) -> str:
        head = f"{self.netlist.name}: {self.term}"
        return "\n".join([head, *(s.text(1) for s in self.structures), *self.notes]) + "\n"
