"""Find where the rows of a tree branch off from one another."""

from dataclasses import dataclass

from layoutdrill.drawing.chains.plan import Plan


@dataclass(frozen=True, slots=True)
class Fork:
    """A net from which switches lead on: the number of its address column, and its lowest and highest row."""

    net: str
    column: int
    rows: tuple[int, int]


def forks_of(plan: Plan) -> tuple[Fork, ...]:
    """Return the forks of a tree, from the first column on; rows are counted from the lowest, 0."""
    first = plan.chains[0].row
    found: dict[str, Fork] = {}
    for chain in plan.chains:
        row = chain.row - first
        for link in chain.series:
            net = link.ends[0]
            low, high = found[net].rows if net in found else (row, row)
            found[net] = Fork(net, link.column - plan.first_column, (min(low, row), max(high, row)))
    return tuple(sorted(found.values(), key=lambda fork: (fork.column, fork.rows)))
