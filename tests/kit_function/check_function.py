"""Print how the extracted cells of the open kit compare, in function and name, with the kit's own models and names."""

import sys
from collections import Counter
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).parent))

from functions import OPEN, Outcome, check_function, check_memory, check_name, primitives

from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError

COUNTS = (437, 415, 414, 303)
"""Cells of the kit; those with a function to compare; those whose memory is checked; those whose names tell."""


def report(title: str, outcomes: list[Outcome]) -> int:
    """Print counts by class, and each miss with its reason; return the misses without one."""
    unexplained = 0
    classes = Counter(o.kind for o in outcomes)
    print(f"\n{title}: {sum(not o.misses for o in outcomes)} of {len(outcomes)} cells agree")
    if len(classes) <= 6:
        for kind in sorted(classes):
            group = [o for o in outcomes if o.kind == kind]
            agree = sum(not o.misses for o in group)
            print(f"  {kind}: {agree} of {len(group)}, {sum(o.compared for o in group)} comparisons")
    for o in outcomes:
        if o.misses:
            reason = OPEN.get(o.cell, "")
            unexplained += not reason
            print(f"  {o.cell}: {o.misses[0]}{f' ({len(o.misses)} in all)' if len(o.misses) > 1 else ''}"
                  f"; {reason or 'NO REASON KNOWN'}")  # fmt: skip
    return unexplained


def main() -> int:
    start = process_time()
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        print(f"not run: {error}")
        return 0
    udps = primitives(kit)
    outcomes = [check_function(kit, cell, udps) for cell in kit.cells]
    applied = [o for o in outcomes if o.kind != "not applicable"]
    wrong = report("function, from extracted layouts, against the functional Verilog", applied)
    print(f"  not applicable (no outputs, or made of other cells): {len(outcomes) - len(applied)}")
    memories = [o for cell in kit.cells if (o := check_memory(kit, cell, udps))]
    wrong += report("memory", memories)
    names = [o for cell in kit.cells if (o := check_name(kit, cell))]
    wrong += report("names, where the family name says the structure", names)
    counts = (len(outcomes), len(applied), len(memories), len(names))
    if counts != COUNTS:
        wrong += 1
        print(f"cells, with functions, with memory checked, named: {counts}, where {COUNTS} are known")
    print(f"\n{process_time() - start:.1f} s CPU, {wrong} misses without a reason")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
