"""
Ask many questions over kinds, cells, processes and seeds, and judge each by the tests' definition of fair.

`python tests/bench/bench_questions.py [questions [slice]]`; without a number, 20,000. A slice is a number: each
takes the cells in an order of its own and draws them from seeds of its own, so that many short runs ask as widely as
one long one. Times are CPU time of asking and of grading one answer. Two questions are distinct when drawing, prompt,
choices, marks or key differ.
"""

import statistics
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path

from layoutdrill.dice import Dice

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from layoutdrill.cells.library import library
from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.looks import load_look, look_names
from layoutdrill.process import load_process, process_names
from layoutdrill.question import HiddenFactError, kinds, tell_hidden_facts
from tests.question.conftest import drawn
from tests.question.fairness import right_answers, unfair

TURNS = 4
MOST_DEVICES = 14


def main() -> None:
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    part = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    processes = [name for name in process_names() if name != "open-130nm"]
    cells = [
        (process, cell.name)
        for cell in library().values()
        for process in processes
        if cell.fits(load_process(process)) and _size(cell, process) <= MOST_DEVICES
    ]
    cells = Dice.from_text(f"slice {part}").shuffled(cells)
    asked: Counter[tuple[str, str]] = Counter()
    distinct: dict[tuple[str, str], set[str]] = defaultdict(set)
    times: dict[str, list[float]] = defaultdict(list)
    grades: list[float] = []
    faults: list[str] = []
    undrawn: Counter[tuple[str, str]] = Counter()
    looks = [load_look(name) for name in look_names()]
    refused: Counter[tuple[str, str]] = Counter()
    first = seed = 1000 * part
    while sum(asked.values()) < wanted:
        for process, cell in cells:
            try:
                specimen = drawn.__wrapped__(cell, process, seed)
            except (LayoutdrillError, AssertionError, KeyError):
                undrawn[process, cell] += 1
                continue
            for name, kind in kinds().items():
                for turn in range(TURNS):
                    start = time.process_time()
                    question = kind.ask(specimen, Dice.from_text(f"{name} {seed} {turn}"))
                    times[name].append(time.process_time() - start)
                    if question is None:
                        continue
                    asked[name, process] += 1
                    shown = f"{cell} {seed} {question.prompt} {question.choices} {question.marks} {question.key}"
                    distinct[name, process].add(shown)
                    for look in looks:
                        try:
                            tell_hidden_facts(kinds()[question.kind], question, look)
                        except HiddenFactError:
                            refused[look.name, process] += 1
                    answer = kind.accept(question, right_answers(question)[0])
                    start = time.process_time()
                    kind.grade(question, answer)
                    grades.append(time.process_time() - start)
                    faults += [f"{name} {process} {cell} seed {seed} turn {turn}: {f}" for f in unfair(kind, question)]
            if sum(asked.values()) >= wanted:
                break
        seed += 1
    every = [t for taken in times.values() for t in taken]
    print(
        f"{sum(asked.values()):,} questions, {len(faults)} unfair; {len(cells)} cells × processes, slice {part}, "
        f"{seed - first} seeds"
    )
    print(f"asking: median {1000 * statistics.median(every):.1f} ms, ", end="")
    print(f"95 % below {1000 * statistics.quantiles(every, n=20)[-1]:.1f} ms; ", end="")
    print(f"grading: median {1000 * statistics.median(grades):.2f} ms")
    print(f"{'kind (asked / distinct)':24}" + "".join(f"{p:>26}" for p in processes) + f"{'median ms':>12}")
    for name in kinds():
        row = "".join(f"{asked[name, p]:>17,} /{len(distinct[name, p]):>7,}" for p in processes)
        print(f"{name:24}{row}{1000 * statistics.median(times[name]):>12.2f}")
    print(f"{'look (refused of all)':24}" + "".join(f"{p:>26}" for p in processes))
    for look in looks:
        total = {p: sum(count for (_, where), count in asked.items() if where == p) for p in processes}
        print(f"{look.name:24}" + "".join(f"{refused[look.name, p]:>17,} /{total[p]:>7,}" for p in processes))
    for fault in faults[:20]:
        print("unfair:", fault)
    for (process, cell), count in undrawn.items():
        print(f"not drawn: {cell} in {process}, {count} times")


def _size(cell, process: str) -> int:
    return cell.netlist(load_process(process)).count()


if __name__ == "__main__":
    main()
