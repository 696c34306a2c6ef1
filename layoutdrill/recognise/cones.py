"""Follow nets back through gates and switch networks to where they come from, as functions of those nets."""

from collections.abc import Sequence

from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, Var, column_of, evaluated, truth, variables
from layoutdrill.simulate.minimal import complement

WIDEST_SWITCH = 10
MOST_LEAVES = 16
"""No table is made over more nets than this."""


def _inserted(form: Expression, inner: dict[str, Expression]) -> Expression:
    if isinstance(form, Var):
        return inner.get(form.name, form)
    if isinstance(form, Not):
        return complement(_inserted(form.term, inner))
    if isinstance(form, Const):
        return form
    return type(form)(tuple(_inserted(t, inner) for t in form.terms))


class Cones:
    """
    The logic behind nets, over roots. A cone ends at ports that nothing drives, at the nets given as `stops`, at what
    remembers or floats, and where a loop comes back; the cone of `top` itself goes on though it is one of the stops.
    """

    def __init__(self, view: View, stops: frozenset[str] = frozenset(), *, through: bool = True, top: str = "") -> None:
        self.view = view
        self.stops = stops
        self.top = top
        self.through = through
        self._leaves: dict[str, frozenset[str]] = {}
        self._forms: dict[str, Expression | None] = {}

    def form(self, root: str) -> Expression | None:
        """Return the function of a root net over the next roots behind it, None where a cone ends."""
        if root not in self._forms:
            self._forms[root] = None  # while it is worked out: switches that open each other end at themselves
            if root not in self.stops or root == self.top:
                self._forms[root] = self._form(root)
        return self._forms[root]

    def _form(self, net: str) -> Expression | None:
        view = self.view
        gate = view.gates.get(net)
        into = [view.links[k] for k in view.links_at.get(net, ()) if view.links[k].source != net]
        if gate is not None:
            if gate.kind in ("static", "ratioed", "Schmitt") and not into:
                return view.rooted(gate.form)
            if not (into and view.pulled(net)):
                return None
        pull = view.pulled(net)
        if len(into) + (pull is not None) < 2 or any(not link.source for link in into) or not self.through:
            return None
        ones: list[Expression] = []
        zeros: list[Expression] = []
        for link in into:
            when, data = self._opened(view.rooted(link.when), net), view.rooted(Var(link.source))
            ones.append(And((when, data)))
            zeros.append(And((when, complement(data))))
        if pull is not None:
            (ones if pull[0] else zeros).append(view.rooted(pull[1]))
        up, down = Or((*ones, ones[0])), Or((*zeros, zeros[0]))
        names = tuple(sorted({*variables(up), *variables(down)}))
        if len(names) > WIDEST_SWITCH or net in names:
            return None
        high, low = truth(up, names), truth(down, names)
        return up if not high & low and high | low == (1 << (1 << len(names))) - 1 else None

    def _opened(self, when: Expression, net: str) -> Expression:
        """Return when a switch is closed, over what stands a gate behind its controls."""
        gates = self.view.gates  # a gate alone: through switches the way back could be as long as the circuit
        inner = {n: f for n in variables(when) if n != net and n in gates and (f := self.form(n)) is not None}
        return _inserted(when, inner) if inner else when

    def leaves(self, net: str) -> frozenset[str]:
        """Return the root nets that a net's cone ends at."""
        root = self.view.root(net)[0]
        if root not in self._leaves:
            self._walk(root)
        return self._leaves[root]

    def _walk(self, top: str) -> None:
        """Find leaves from the inputs on, without recursion: chains may be thousands of gates long."""
        stack: list[tuple[str, bool]] = [(top, False)]
        open_nets: set[str] = set()
        while stack:
            net, done = stack.pop()
            form = self.form(net)
            if form is None:
                self._leaves[net] = frozenset({net})
                continue
            behind = [self.view.root(n)[0] for n in variables(form)]
            if done:
                open_nets.discard(net)
                self._leaves[net] = frozenset().union(*(self._leaves.get(n, frozenset({n})) for n in behind))
                continue
            if net in open_nets or net in self._leaves:
                if net in open_nets:
                    self._forms[net] = None  # a loop ends at itself
                    self._leaves[net] = frozenset({net})
                continue
            open_nets.add(net)
            stack.append((net, True))
            stack += [(n, False) for n in behind if n not in self._leaves]

    def table(self, net: str, leaves: Sequence[str]) -> int:
        """Return the truth table of a net over its leaves, in the order given; at most MOST_LEAVES of them."""
        names = list(leaves)
        if len(names) > MOST_LEAVES:
            raise ValueError(f"{len(names)} leaves")
        count = len(names)
        full = (1 << (1 << count)) - 1
        columns = {name: column_of(i, count) for i, name in enumerate(names)}
        root, straight = self.view.root(net)
        self.leaves(net)
        stack = [root]
        while stack:
            here = stack[-1]
            if here in columns:
                stack.pop()
                continue
            form = self.form(here)
            if form is None:
                raise ValueError(f"{here} is no leaf given")
            behind = [n for n in variables(form) if n not in columns]
            if behind:
                stack += behind
                continue
            columns[here] = evaluated(form, columns, full)
            stack.pop()
        return columns[root] if straight else full ^ columns[root]
