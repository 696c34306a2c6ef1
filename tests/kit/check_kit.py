"""
Check extraction and comparison against the open cell kit, and print what came out.

The kit is an open data set (SkyWater open 130 nm standard cells, Apache-2.0): for each cell a drawing, the netlist
that the kit's makers took from it (.spice), and the one it was designed from (.cdl). Nothing here knows what is in
it but the reasons for the cells that cannot agree.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from random import Random
from time import process_time

from layoutdrill.cells.kit import Kit, find_kit
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import Extraction, FindingKind, extract
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.netlist.compare import Comparison, Merge, Terms, compare, compare_by
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.spice import read_spice, write_spice
from layoutdrill.process import load_process

if not __package__:  # run as a script
    sys.path.insert(0, str(Path(__file__).parents[2]))
from tests.kit.mutate import CHANGES
from tests.netlist.netlists import disguised
from tests.netlist.reference import isomorphic

RAILS = frozenset({"VPWR", "VGND", "VPB", "VNB"})
# The cells whose drawing does not say what the design netlist says, and why.
STACKS = "its parallel stacks are drawn with their private nodes apart, and designed with them joined"
OPEN_CELL = "lpflow_lsbuf_lh_isowell_4"
NOT_TO_CDL = {
    "diode_2": "its CDL leaves out the diode",
    OPEN_CELL: "its drawing leaves VGND in two pieces",
}


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell as drawn and read back, and its two netlists."""

    name: str
    found: Extraction
    spice: Netlist
    cdl: Netlist


COUNTS = 437, 8379
"""Cells and their transistors."""
# Cells whose design netlist has the private nodes of parallel stacks joined, which are drawn apart.
JOINED = frozenset({
    "a2111oi_2", "a211oi_4", "a21boi_2", "a21oi_2", "a31o_4", "ha_4", "o2111a_4", "o211a_4", "o211ai_4",
})  # fmt: skip


@cache
def cells(names: tuple[str, ...] = ()) -> tuple[Cell, ...]:
    """Extract and read cells of the kit; every one where none are named."""
    kit = find_kit()
    return tuple(
        Cell(name, drawn(kit, name), kit.netlist(name), kit.netlist(name, "cdl")) for name in names or kit.cells
    )


def drawn(kit: Kit, name: str) -> Extraction:
    process = load_process("open-130nm")
    return extract(read_gdsii(kit.gdsii(name), process, cell=kit.full_name(name), file=name), process)


def readings(found: Extraction) -> Iterator[Netlist]:
    """
    Yield the netlist, and where one name lies on several nets (an open, told as a finding), the netlist with each of
    those taken for the port.
    """
    yield found.netlist
    if any(f.kind is FindingKind.OPEN for f in found.findings):
        for port in found.netlist.ports:
            for net in found.netlist.nets:
                if net.startswith(f"{port}#"):
                    swap = {port: net, net: port}
                    yield replace(found.netlist, transistors=tuple(t.renamed(swap) for t in found.netlist.transistors))


def to_spice(cell: Cell) -> Comparison:
    """Compare drawing and SPICE: connections, ports, L, W and bodies; nothing merged."""
    results = (compare(n, cell.spice, sizes=True, bodies=True, merge=Merge.NONE) for n in readings(cell.found))
    first = next(results)
    return first if first.equal else next((r for r in results if r.equal), first)


def to_cdl(cell: Cell, merge: Merge) -> Comparison:
    return compare(cell.found.netlist, cell.cdl, sizes=True, bodies=True, merge=merge)


def written_back(cell: Cell) -> Comparison:
    """Compare the extracted netlist with itself, written as SPICE and read again."""
    n = cell.found.netlist
    return compare(n, read_spice(write_spice(n), f"{cell.name}.sp"), sizes=True, bodies=True, merge=Merge.NONE)


@dataclass(frozen=True, slots=True)
class Trial:
    """One changed netlist held against the netlist it was made from."""

    cell: str
    change: str
    rejected: bool
    explained: bool  # a survivor that networkx finds isomorphic to its origin
    lines: int


def trials(among: tuple[Cell, ...], seed: int = 0, *, explain: bool = True, ports: bool = True) -> Iterator[Trial]:
    """
    Change one thing at a time in each cell's SPICE netlist, disguise it, and compare it with the original.

    Without `ports` only the rails are known by name, and a change may well lead to the same circuit again.

    The disguise: inner nets and devices under other names and in another order, some sources and drains exchanged.
    """
    for cell in among:
        for change in CHANGES:
            if not cell.spice.transistors:
                continue
            rng = Random(f"{cell.name} {change.__name__} {seed}")
            changed = change(cell.spice, rng)
            if changed is None:
                continue
            changed = disguised(changed, rng)
            terms = Terms(ports=ports, sizes=True, bodies=True, merge=Merge.NONE, explain=explain)
            result = compare_by(cell.spice, changed, terms)
            explained = result.equal and isomorphic(cell.spice, changed, named=None if ports else RAILS)
            yield Trial(cell.name, change.__name__, not result.equal, explained, len(result.differences))


def main() -> int:
    try:
        find_kit()
    except LayoutdrillError as error:
        print(f"NOT RUN: {error}")
        return 0
    start = process_time()
    all_cells = cells()
    wrong = 0
    counts = len(all_cells), sum(c.found.netlist.count() for c in all_cells)
    print(f"{counts[0]} cells, {counts[1]} transistors")
    wrong += counts != COUNTS
    wrong += _line(
        "equal to SPICE, with L, W, body and ports", [c.name for c in all_cells if not to_spice(c).equal], {}
    )
    wrong += _line("written as SPICE and read back", [c.name for c in all_cells if not written_back(c).equal], {})
    misses = [c.name for c in all_cells if not to_cdl(c, Merge.STACKS).equal]
    wrong += _line("equal to CDL, stacks merged", misses, NOT_TO_CDL)
    unmerged = [c.name for c in all_cells if not to_cdl(c, Merge.FINGERS).equal]
    wrong += _line("equal to CDL, only fingers merged", unmerged, dict.fromkeys(JOINED, STACKS) | NOT_TO_CDL)
    wrong += set(unmerged) != JOINED | set(NOT_TO_CDL)
    findings = [(cell.name, finding) for cell in all_cells for finding in cell.found.findings]
    for name, finding in findings:
        print(f"  finding in {name}: {finding.kind}: {finding.text}")
    wrong += [(name, finding.kind) for name, finding in findings] != [(OPEN_CELL, FindingKind.OPEN)]
    outcome = list(trials(all_cells))
    survivors = [t for t in outcome if not t.rejected]
    print(f"single changes: {len(outcome)} tried, {len(outcome) - len(survivors)} rejected")
    for change in dict.fromkeys(t.change for t in outcome):
        of_kind = [t for t in outcome if t.change == change]
        counts = f"{len(of_kind):5} tried, {sum(t.rejected for t in of_kind)} rejected"
        print(
            f"  {change.replace('_', ' '):16}{counts}, {sum(t.lines <= 2 for t in of_kind)} told in at most two lines"
        )
    for t in survivors:
        print(
            f"  not rejected: {t.cell}, {t.change}: " + ("the same circuit (networkx)" if t.explained else "A MISTAKE")
        )
    wrong += sum(not t.explained for t in survivors)
    blind = list(trials(all_cells, seed=1, explain=False, ports=False))
    print(f"the same with only the rails labelled: {len(blind)} tried, {sum(t.rejected for t in blind)} rejected")
    wrong += sum(not t.rejected and not t.explained for t in blind)
    print(f"{process_time() - start:.1f} s of CPU; {wrong or 'no'} failure{'' if wrong == 1 else 's'}")
    return 1 if wrong else 0


def _line(what: str, misses: list[str], reasons: dict[str, str]) -> int:
    """Print how many cells agree, and the others by name; return how many of those have no known reason."""
    print(f"{what}: {len(cells()) - len(misses)} of {len(cells())}")
    for name in misses:
        print(f"  not: {name}: {reasons.get(name, 'no reason known')}")
    return sum(name not in reasons for name in misses)


if __name__ == "__main__":
    sys.exit(main())
