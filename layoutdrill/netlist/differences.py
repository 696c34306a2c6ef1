"""Put into words where two netlists part, for a reader who wrote one of them by hand."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

from layoutdrill.netlist.graph import Rules
from layoutdrill.netlist.grid import place_of
from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.netlist.nearest import Crowd, Pairing, crowds, pair_up
from layoutdrill.netlist.parts import VALUE, Part, parts_of, terminal_pairs

Titles = tuple[str, str]
MOST = 12  # lines; a reader mends the first ones and looks again


def describe(
    a: Netlist, b: Netlist, rules: Rules, known: Iterable[tuple[str, str]], titles: Titles
) -> tuple[tuple[str, ...], dict[str, str], dict[str, str]]:
    """Return the differences in words, most telling first, and the nearest pairing of nets and devices."""
    known = list(known)
    parts_a, parts_b = parts_of(a, bodies=rules.bodies), parts_of(b, bodies=rules.bodies)
    lines = _counts(a, b, titles)
    pairing = pair_up(parts_a, parts_b, known)
    if pairing is None:
        return (*lines, *_crowds(crowds(parts_a, parts_b, known), titles)), dict(known), {}
    differing = _Reader(parts_a, parts_b, pairing, rules, titles, (a, b)).lines()
    if not differing and not lines:
        differing = [
            f"every device and net of {titles[0]} has its like in {titles[1]}, but they are not joined up the same way"
        ]
    lines += differing
    if len(lines) > MOST:
        lines = [*lines[:MOST], f"and {len(lines) - MOST} more"]
    return tuple(lines), pairing.nets, pairing.parts


def _counts(a: Netlist, b: Netlist, titles: Titles) -> list[str]:
    lines = []
    if any(a.count(kind) != b.count(kind) for kind in Kind):
        counted = [
            f"{title} has {_many(n.count(), 'transistor')} ({n.count(Kind.N)} n, {n.count(Kind.P)} p)"
            for title, n in zip(titles, (a, b), strict=True)
        ]
        lines.append(", ".join(counted))
    kinds_a, kinds_b = Counter(e.kind for e in a.elements), Counter(e.kind for e in b.elements)
    for kind in sorted(kinds_a | kinds_b):
        if kinds_a[kind] != kinds_b[kind]:
            mine, their = _many(kinds_a[kind], kind), _many(kinds_b[kind], kind)
            lines.append(f"{titles[0]} has {mine}, {titles[1]} has {their}")
    return lines


class _Reader:
    """Reads two netlists side by side along a pairing."""

    def __init__(
        self,
        a: dict[str, Part],
        b: dict[str, Part],
        pairing: Pairing,
        rules: Rules,
        titles: Titles,
        netlists: tuple[Netlist, Netlist],
    ) -> None:
        self.netlists = netlists
        self.a, self.b, self.pairing, self.rules, self.titles = a, b, pairing, rules, titles
        self.back = {y: x for x, y in pairing.nets.items()}
        # (part of A, part of B, role, net of A, net of B) for terminals on nets that do not belong together
        self.moved: list[tuple[str, str, str, str, str]] = []
        self.meets: defaultdict[str, Counter[str]] = defaultdict(Counter)  # net of B: nets of A that it stands for
        self.meets_back: defaultdict[str, Counter[str]] = defaultdict(Counter)
        for x, y in pairing.parts.items():
            for role, one, other in terminal_pairs(a[x], b[y], self._agree):
                self.meets[other][one] += 1
                self.meets_back[one][other] += 1
                if pairing.nets.get(one) != other:
                    self.moved.append((x, y, role, one, other))

    def _agree(self, one: str, other: str) -> float:
        if self.pairing.nets.get(one) == other:
            return 2.0
        return 0.0 if one in self.pairing.nets or other in self.back else 0.5

    def lines(self) -> list[str]:
        return [*self._kinds(), *self._splits(), *self._terminals(), *self._alone(), *self._sizes()]

    def _kinds(self) -> list[str]:
        pairs = ((self.a[x], self.b[y]) for x, y in self.pairing.parts.items())
        return [
            f"{self._title(p, q)}: {p.kind} in {self.titles[0]}, {q.kind} in {self.titles[1]}"
            for p, q in pairs
            if p.kind != q.kind
        ]

    def _splits(self) -> list[str]:
        """
        Tell nets that are one on one side and two on the other, and drop the moved terminals this explains.

        The second net is one that no net of the other side belongs to, or only one with nothing on it.
        """
        lines = []
        for extra, meets in self.meets.items():
            (net,) = meets if len(meets) == 1 else ("",)
            twin = self.pairing.nets.get(net)
            if twin is not None and twin != extra and not self.meets_back.get(self.back.get(extra, "")):
                lines.append(self._split(net, twin, extra, self.titles, self.b))
                self.moved = [m for m in self.moved if m[4] != extra]
        for extra, meets in self.meets_back.items():
            (net,) = meets if len(meets) == 1 else ("",)
            twin = self.back.get(net)
            if twin is not None and twin != extra and not self.meets.get(self.pairing.nets.get(extra, "")):
                lines.append(self._split(net, twin, extra, self.titles[::-1], self.a))
                self.moved = [m for m in self.moved if m[3] != extra]
        return lines

    def _split(self, net: str, one: str, other: str, titles: Titles, parts: dict[str, Part]) -> str:
        groups = [_listed(sorted(p.name for p in parts.values() if _is_on(p, n))) for n in (one, other)]
        return (
            f"net {net}: one net in {titles[0]}, two in {titles[1]}, {one} (with {groups[0]}) "
            f"and {other} (with {groups[1]})"
        )

    def _terminals(self) -> list[str]:
        lines = []
        for x, y, role, one, other in self.moved:
            wanted = self.pairing.nets.get(one)
            also = f" ({wanted} in {self.titles[1]})" if wanted is not None and wanted != one else ""
            place = "one end (source or drain)" if role == "end" and self.a[x].noun == "transistor" else f"its {role}"
            lines.append(
                f"{self._title(self.a[x], self.b[y]).rstrip(',')}: {place} is on net {one} in {self.titles[0]}{also}, "
                f"on net {other} in {self.titles[1]}"
            )
        for x, y in self.pairing.parts.items():
            roles_a, roles_b = dict(self.a[x].terminals), dict(self.b[y].terminals)
            for role in [r for r in (*roles_a, *roles_b) if (r in roles_a) != (r in roles_b)]:
                here = 0 if role in roles_a else 1
                net = (roles_a if here == 0 else roles_b)[role][0]
                lines.append(
                    f"{self._title(self.a[x], self.b[y])}: its {role} is on net {net} in {self.titles[here]}, "
                    f"not told in {self.titles[1 - here]}"
                )
        return lines

    def _alone(self) -> list[str]:
        taken = set(self.pairing.parts.values())
        mine, their = self.netlists
        lines = [lonely(mine, p, self.titles) for n, p in self.a.items() if n not in self.pairing.parts]
        return lines + [lonely(their, p, self.titles[::-1]) for n, p in self.b.items() if n not in taken]

    def _sizes(self) -> list[str]:
        lines = []
        for x, y in self.pairing.parts.items():
            mine, their = dict(self.a[x].sizes), dict(self.b[y].sizes)
            lines += [
                f"{self._title(self.a[x], self.b[y])}: {key} is {_size(mine[key])} in {self.titles[0]}, "
                f"{_size(their[key])} in {self.titles[1]}"
                for key in sorted(mine.keys() & their.keys())
                if self._counts(self.a[x], key) and mine[key] != their[key]
            ]
        return lines

    def _counts(self, part: Part, key: str) -> bool:
        if part.noun != "transistor":
            return self.rules.written if key == VALUE else self.rules.values
        return self.rules.lengths if key == "L" else self.rules.widths

    def _title(self, one: Part, other: Part) -> str:
        also = f" ({other.name} in {self.titles[1]})" if other.name != one.name else ""
        return f"{one.noun} {one.name}{also}{_place(self.netlists[0], one.name).removesuffix(',')}"


def lonely(netlist: Netlist, part: Part, titles: Titles) -> str:
    """Return the sentence on a device of the first netlist that the second one lacks."""
    title = f"{part.noun} {part.name} of {titles[0]} ({_told(part)})"
    return f"{title}{_place(netlist, part.name)} has no counterpart in {titles[1]}"


def _place(netlist: Netlist, device: str) -> str:
    """Return a device's place where it lies in an array, set off by commas."""
    where = place_of(netlist, device)
    return f", {where}," if where else ""


def _crowds(crowded: Sequence[Crowd], titles: Titles) -> list[str]:
    """Tell of which devices one side has more, where there are too many to pair one by one."""
    if not crowded:
        return [f"the devices of {titles[0]} and {titles[1]} are joined up in different ways, farther from known nets"]
    lines = []
    for c in crowded[:MOST]:
        title = titles[0] if c.of_a else titles[1]
        lines.append(
            f"devices that look like {c.part.name} of {title} ({_told(c.part)}): "
            f"{c.count_a} in {titles[0]}, {c.count_b} in {titles[1]}"
        )
    return lines


def _told(part: Part) -> str:
    nets = dict(part.terminals)
    if part.noun == "transistor":
        return f"{part.kind}, gate {nets['gate'][0]}, between {' and '.join(nets['end'])}"
    return ", ".join(f"{'between' if len(ns) > 1 else role} {' and '.join(ns)}" for role, ns in part.terminals)


def _is_on(part: Part, net: str) -> bool:
    return any(net in nets for _, nets in part.terminals)


def _listed(names: Sequence[str], most: int = 5) -> str:
    if not names:
        return "nothing"
    shown = list(names[:most])
    if len(names) > most:
        return ", ".join(shown) + f" and {len(names) - most} more"
    return shown[0] if len(shown) == 1 else ", ".join(shown[:-1]) + " and " + shown[-1]


def _size(value: int | str) -> str:
    if isinstance(value, str):
        return value
    return f"{value / 1000:g} µm" if value else "not told"


def _many(number: int, noun: str) -> str:
    return f"{number or 'no'} {noun}" + ("" if number == 1 else "s")
