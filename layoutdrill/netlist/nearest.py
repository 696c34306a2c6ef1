"""
Pair up two netlists that differ, device by device and net by net, as a patient reader would.

Start from the nets known by name; take the two devices that agree best, pair their nets, and go on from there. What
counts most is terminals on paired nets, then the kind of device, then how far around the two look alike.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from heapq import heapify, heappop, heappush

from layoutdrill.netlist.parts import Part, parts_on_nets, terminal_pairs
from layoutdrill.value import value

Colour = Callable[[object], int]
LIMIT = 200  # devices left to pair by their surroundings; more take too long to be worth it
_ROUNDS, _MANY, _FEW_ROUNDS = 4, 5_000, 2  # rounds of colours; fewer for so many devices
_MENDS = 6
_AGAIN = 6  # times to look again, from what is paired by then
_SAME, _OTHER, _CLASH, _LIKE = 3.0, -4.0, -2.0, 0.3
_LEAST = -2.5  # worse than this, two devices are no pair


@value
class Pairing:
    """Devices and nets of A with their nearest counterparts in B; what has none is left out."""

    parts: dict[str, str]
    nets: dict[str, str]


@value
class Crowd:
    """Devices that look alike as far as some neighbours around: one of them by name, and how many on each side."""

    part: Part
    of_a: bool
    count_a: int
    count_b: int


def crowds(a: dict[str, Part], b: dict[str, Part], known: Iterable[tuple[str, str]]) -> list[Crowd]:
    """Return the devices that one side has more of, looking only as far around as needed to see a difference."""
    for mine, their, _, _ in _Work(a, b, known).colours:
        counts_a, counts_b = Counter(mine.values()), Counter(their.values())
        if counts_a != counts_b:
            first = {colour: b[name] for name, colour in reversed(their.items())}
            first |= {colour: a[name] for name, colour in reversed(mine.items())}
            apart = sorted(c for c in counts_a | counts_b if counts_a[c] != counts_b[c])
            return [Crowd(first[c], counts_a[c] > 0, counts_a[c], counts_b[c]) for c in apart]
    return []


def pair_up(a: dict[str, Part], b: dict[str, Part], known: Iterable[tuple[str, str]]) -> Pairing | None:
    """Return the nearest pairing, given nets `known` to belong together; None when too much is left to guess."""
    work = _Work(a, b, known)
    work.take_unique()
    for _ in range(_AGAIN):
        before = len(work.parts)
        if max(len(a), len(b)) - before <= LIMIT:
            break
        work.look_again()
        if len(work.parts) == before:
            break
    if len(a) - len(work.parts) > LIMIT or len(b) - len(work.parts) > LIMIT:
        return None
    work.take_best()
    work.vote()
    work.mend()
    return Pairing(work.parts, work.nets)


class _Work:
    def __init__(self, a: dict[str, Part], b: dict[str, Part], known: Iterable[tuple[str, str]]) -> None:
        self.a, self.b = a, b
        self.fixed = dict(known)
        self.nets = dict(self.fixed)
        self.back = {y: x for x, y in self.nets.items()}
        self.parts: dict[str, str] = {}
        self.taken: set[str] = set()
        self.on_a, self.on_b = parts_on_nets(a), parts_on_nets(b)
        self.colours = self._colours()

    def _colours(self) -> list[tuple[dict[str, int], dict[str, int], dict[str, int], dict[str, int]]]:
        """Colour parts and nets of both sides by what lies around them, one entry a round."""
        numbers: dict[object, int] = {}

        def colour(key: object) -> int:
            return numbers.setdefault(key, len(numbers))

        nets_a = {n: colour(("known", n)) if n in self.nets else colour("net") for n in self.on_a}
        nets_b = {n: colour(("known", self.back[n])) if n in self.back else colour("net") for n in self.on_b}
        rounds = []
        for _ in range(_ROUNDS if len(self.a) < _MANY else _FEW_ROUNDS):
            sides = []
            for parts, nets, on in ((self.a, nets_a, self.on_a), (self.b, nets_b, self.on_b)):
                mine = {
                    name: colour((p.kind, *((role, tuple(sorted([nets[n] for n in ns]))) for role, ns in p.terminals)))
                    for name, p in parts.items()
                }
                sides.append((mine, {n: _net_colour(n, nets, mine, on, colour) for n in nets}))
            rounds.append((sides[0][0], sides[1][0], sides[0][1], sides[1][1]))
            nets_a, nets_b = sides[0][1], sides[1][1]
        return rounds

    def take_unique(self) -> None:
        """Pair the parts that only one of either side looks like, those alike farthest around first."""
        for parts_a, parts_b, _, _ in reversed(self.colours):
            mine, their = _by_colour(parts_a, self.parts), _by_colour(parts_b, self.taken)
            for colour, names in mine.items():
                if len(names) == 1 and len(their.get(colour, ())) == 1:
                    self._take(names[0], their[colour][0])

    def look_again(self) -> None:
        """Pair what only one of either side looks like once the nets that are paired by now are known by themselves."""
        self.vote()
        self.colours = self._colours()
        self.take_unique()

    def take_best(self) -> None:
        """Pair the parts that are left, the best match first, as long as it is better than none."""
        left_a = [n for n in self.a if n not in self.parts]
        left_b = [n for n in self.b if n not in self.taken]
        heap = [(-self._score(x, y), x, y) for x in left_a for y in left_b if self.a[x].noun == self.b[y].noun]
        heapify(heap)
        while heap:
            rank, x, y = heappop(heap)
            if x in self.parts or y in self.taken:
                continue
            score = self._score(x, y)
            if score < -rank - 1e-9:
                heappush(heap, (-score, x, y))
                continue
            if score < _LEAST:
                break
            for one, other in self._take(x, y):
                for near_a in self.on_a[one]:
                    for near_b in self.on_b[other]:
                        fresh = near_a not in self.parts and near_b not in self.taken
                        if fresh and self.a[near_a].noun == self.b[near_b].noun:
                            heappush(heap, (-self._score(near_a, near_b), near_a, near_b))

    def vote(self) -> None:
        """Pair the nets anew, by how many terminals of paired parts say so."""
        for _ in range(2):
            votes: Counter[tuple[str, str]] = Counter()
            for x, y in self.parts.items():
                for _, one, other in self.terminal_pairs(x, y):
                    votes[one, other] += 1
            nets = dict(self.fixed)
            back = {y: x for x, y in nets.items()}
            for (one, other), _ in sorted(votes.items(), key=lambda item: (-item[1], item[0])):
                if one not in nets and other not in back:
                    nets[one], back[other] = other, one
            self.nets, self.back = nets, back

    def mend(self) -> None:
        """Exchange partners, of parts and of nets, as long as that leaves fewer terminals apart."""
        for _ in range(_MENDS):
            bad = [x for x in self.parts if self._apart(x, self.parts[x])]
            if not (self._mend_parts(bad) or self._mend_nets(bad)):
                return
            self.vote()

    def _mend_parts(self, bad: list[str]) -> bool:
        """Exchange the partners of a part that does not fit and of another one; tell whether any was."""
        mended = False
        for x in bad:
            best, gain = "", 0
            y = self.parts[x]
            for other, theirs in self.parts.items():
                if self.a[other].noun == self.a[x].noun and other != x:
                    now = self._apart(x, y) + self._apart(other, theirs)
                    then = self._apart(x, theirs) + self._apart(other, y)
                    if now - then > gain:
                        best, gain = other, now - then
            if best:
                self.parts[x], self.parts[best] = self.parts[best], y
                mended = True
        return mended

    def _mend_nets(self, bad: list[str]) -> bool:
        """Exchange the counterparts of two nets whose terminals disagree; tell whether any were."""
        wanted = {
            (one, other)
            for x in bad
            for _, one, other in self.terminal_pairs(x, self.parts[x])
            if self.nets.get(one) != other and one not in self.fixed and other in self.back
        }
        for one, other in sorted(wanted):
            rival, old = self.back[other], self.nets.get(one)
            if rival in self.fixed or old is None or self.nets[rival] != other:
                continue
            near = [x for x in {*self.on_a[one], *self.on_a[rival]} if x in self.parts]
            before = sum(self._apart(x, self.parts[x]) for x in near)
            self._swap_nets(one, rival)
            if sum(self._apart(x, self.parts[x]) for x in near) < before:
                return True
            self._swap_nets(one, rival)
        return False

    def _swap_nets(self, one: str, rival: str) -> None:
        self.nets[one], self.nets[rival] = self.nets[rival], self.nets[one]
        self.back[self.nets[one]], self.back[self.nets[rival]] = one, rival

    def _apart(self, x: str, y: str) -> int:
        """Count what keeps two parts from being the same: terminals on other nets (doubly), kind and sizes."""
        one, other = self.a[x], self.b[y]
        apart = 2 * sum(self.nets.get(p) != q for _, p, q in terminal_pairs(one, other, self._together))
        return apart + 3 * (one.kind != other.kind) + (one.sizes != other.sizes)

    def _together(self, one: str, other: str) -> float:
        return float(self.nets.get(one) == other)

    def terminal_pairs(self, x: str, y: str) -> list[tuple[str, str, str]]:
        """Return (role, net of A, net of B) for each terminal two parts both have, ends paired the better way."""
        return terminal_pairs(self.a[x], self.b[y], self._net_score)

    def _take(self, x: str, y: str) -> list[tuple[str, str]]:
        self.parts[x] = y
        self.taken.add(y)
        new = []
        for _, one, other in self.terminal_pairs(x, y):
            if one not in self.nets and other not in self.back:
                self.nets[one], self.back[other] = other, one
                new.append((one, other))
        return new

    def _score(self, x: str, y: str) -> float:
        one, other = self.a[x], self.b[y]
        score = _SAME if one.kind == other.kind else _OTHER
        score += 0.2 * sum(p == q for p, q in zip(one.sizes, other.sizes, strict=False))
        score += 0.1 if x == y else 0.0
        score += sum(_LIKE for mine, their, _, _ in self.colours if mine[x] == their[y])
        return score + sum(self._net_score(p, q) for _, p, q in self.terminal_pairs(x, y))

    def _net_score(self, one: str, other: str) -> float:
        if self.nets.get(one) == other:
            return _SAME
        if one in self.nets or other in self.back:
            return _CLASH
        return 0.5 + sum(_LIKE for _, _, mine, their in self.colours if mine[one] == their[other])


def _net_colour(net: str, nets: dict[str, int], parts: dict[str, int], on: dict[str, list[str]], colour: Colour) -> int:
    return colour((nets[net], *sorted([parts[p] for p in on[net]])))


def _by_colour(colours: dict[str, int], without: Iterable[str]) -> dict[int, list[str]]:
    names: defaultdict[int, list[str]] = defaultdict(list)
    skip = set(without)
    for name, colour in colours.items():
        if name not in skip:
            names[colour].append(name)
    return names
