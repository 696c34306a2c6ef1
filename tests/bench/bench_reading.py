"""
Measure the reading of own netlists: outlines right, slips told and placed, false alarms, one reading a shuffle, time.

Random slips are of the families that people make: a device left out, written twice, of the wrong kind, with its gate or
an end on another net, two driven nets taken for one. A slip is *told* where anything is said of the netlist, *placed*
where at most eight transistors are named and the one at fault is among them, or, where one is missing or nets are
joined, its net. Slips that leave an isomorphic netlist are not planted.
"""

import gc
import math
import sys
from collections import Counter, defaultdict
from pathlib import Path
from random import Random
from time import process_time

if not __package__:  # run as a script
    sys.path.insert(0, str(Path(__file__).parents[2]))
from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from tests.reading.netlists import all_cases, planted, shuffled
from tests.reading.published import published_cases

EACH = 4
"""Random slips of each family for each netlist."""
MOST_NAMED = 8
FAMILIES = ("load left out", "device left out", "gate misread", "other control", "end misread", "kind misread",
            "written twice", "nets joined")  # fmt: skip


def fingerprint(netlist):
    """Return a value that isomorphic netlists share (colour refinement, a few rounds)."""
    supplies = find_supplies(netlist)
    fixed = {n: n for n in (*netlist.ports, *supplies.nets)}
    colour = {n: fixed.get(n, "") for n in netlist.nets}
    for _ in range(12):
        around = defaultdict(list)
        for t in netlist.transistors:
            key = (t.kind, t.mode, colour[t.gate], *sorted((colour[t.source], colour[t.drain])))
            around[t.gate].append(("gate", key))
            for a, b in ((t.source, t.drain), (t.drain, t.source)):
                around[a].append(("end", key, colour[b]))
        colour = {n: fixed.get(n, "") + str(hash((colour[n], tuple(sorted(map(str, around[n])))))) for n in colour}
    return hash(tuple(sorted(colour.values()))), len(netlist.transistors)


def random_slips(netlist, family, rng, count):
    """Return up to `count` edits of one family."""
    supplies = find_supplies(netlist).nets
    ts = netlist.transistors
    loads = [
        t for t in ts if t.mode is Mode.DEPLETION or t.gate in t.ends or (t.gate in supplies and set(t.ends) & supplies)
    ]
    loads = [t for t in loads if set(t.ends) - supplies and (t.gate in t.ends or set(t.ends) & supplies)]
    names = {t.name for t in loads}
    others = [t for t in ts if t.name not in names]
    controls = sorted({t.gate for t in ts if not set(t.ends) & supplies} - supplies)
    gates = sorted({t.gate for t in ts} - supplies)
    ends = sorted({e for t in ts for e in t.ends})
    driven = sorted({e for t in loads for e in t.ends} - supplies) or sorted(
        {e for t in ts if t.kind is Kind.N for e in t.ends}
        & {e for t in ts if t.kind is Kind.P for e in t.ends} - supplies
    )
    made = []
    for _ in range(8 * count):
        t = rng.choice(ts)
        edit = None
        if family == "load left out" and loads:
            edit = ("drop", rng.choice(loads).name)
        elif family == "device left out" and others:
            edit = ("drop", rng.choice(others).name)
        elif family == "gate misread" and len(gates) > 1:
            edit = ("gate", t.name, rng.choice([g for g in gates if g != t.gate]))
        elif family == "other control" and len(controls) > 1:
            t = rng.choice([t for t in ts if t.gate in controls])
            edit = ("gate", t.name, rng.choice([g for g in controls if g != t.gate]))
        elif family == "end misread":
            edit = ("end", t.name, rng.choice(t.ends), rng.choice([e for e in ends if e not in t.ends]))
        elif family == "kind misread":
            edit = ("flip", t.name)
        elif family == "written twice":
            edit = ("twice", t.name)
        elif family == "nets joined" and len(driven) > 1:
            edit = ("join", *rng.sample(driven, 2))
        if edit is None:
            return made
        if edit not in made and len(made) < count:
            made.append(edit)
    return made


def told_and_placed(netlist, edit):
    """Return whether anything is said of the slip, and whether it is placed."""
    wrong, devices, nets = planted(netlist, edit)
    slips = find_slips(wrong, find_supplies(wrong))
    named = [s for s in slips if len(s.transistors) <= MOST_NAMED]
    if edit[0] in ("drop", "join"):
        signals = set(nets) - find_supplies(netlist).nets
        placed = any(signals & set(s.nets) for s in named)
    else:
        placed = any(set(devices) & set(s.transistors) for s in named)
    return bool(slips), bool(slips) and placed


def counted(netlist):
    """Return the name of the whole and how often each term appears."""
    recognition = recognise(netlist)
    return recognition.heading, Counter(s.term for s in recognition.all())


def signature(netlist, back):
    """Return what a reading says, without names: terms with their sizes, ports with their roles."""
    recognition = recognise(netlist)
    terms = Counter((s.term, len(s.transistors)) for s in recognition.all())
    roles = sorted((back[p.net], str(p.role)) for p in recognition.ports)
    return recognition.heading, tuple(sorted(terms.items())), tuple(roles)


def outlines(cases):
    """Print how many wholes and parts are named."""
    for held, words in ((False, "own"), (True, "published")):
        some = [c for c in cases if c.held_out is held]
        heads = parts = unknown = 0
        wrong = []
        for case in some:
            head, count = counted(case.anonymous()[0])
            heads += head == case.head
            unknown += "unknown" in head
            whole = all(count[term] == number for term, number in case.parts.items())
            parts += whole
            if head != case.head or not whole:
                wrong.append(f"{case.name}: {head}, wanted {case.head}" + ("" if whole else " (parts)"))
        print(f"{words}: whole named {heads} of {len(some)}, parts counted {parts}, unknown at the top {unknown}")
        if "-v" in sys.argv:
            print(*(f"  {line}" for line in wrong), sep="\n")


def alarms(cases):
    """Print the slips told of right circuits."""
    count = 0
    for case in cases:
        netlist, _ = case.anonymous()
        slips = find_slips(netlist, find_supplies(netlist))
        count += bool(slips)
        if slips and "-v" in sys.argv:
            print(f"  {case.name}: {slips[0].kind}: {slips[0].text}")
    print(f"right circuits accused: {count} of {len(cases)}")


def planted_slips(cases):
    """Print the slips planted by hand, then those at random by family."""
    for held, words in ((False, "own"), (True, "published")):
        results = [
            (case, edit, *told_and_placed(case.netlist, edit))
            for case in cases
            if case.held_out is held
            for edit in case.slips
        ]
        told, placed = (sum(r[k] for r in results) for k in (2, 3))
        print(f"slips planted by hand, {words}: {len(results)}, told {told}, placed {placed}")
        if "-v" in sys.argv:
            print(*(f"  {c.name} {e}: {'told' if t else 'missed'}" for c, e, t, p in results if not p), sep="\n")
    print(f"{'random slips':>18} {'planted':>8} {'told':>6} {'placed':>7}")
    total = [0, 0, 0]
    for family in FAMILIES:
        rows = [0, 0, 0]
        for case in cases:
            rng = Random(f"{case.name}/{family}{_word('sample')}")
            right = fingerprint(case.netlist)
            for edit in random_slips(case.netlist, family, rng, int(_word("each") or EACH)):
                if fingerprint(planted(case.netlist, edit)[0]) == right:
                    continue
                told, placed = told_and_placed(case.netlist, edit)
                rows = [rows[0] + 1, rows[1] + told, rows[2] + placed]
                if not placed and "-vv" in sys.argv:
                    print(f"  {case.name} {edit}: {'told' if told else 'missed'}")
        total = [a + b for a, b in zip(total, rows, strict=True)]
        print(f"{family:>18} {rows[0]:8} {_share(rows[1], rows[0])} {_share(rows[2], rows[0])}")
    print(f"{'all':>18} {total[0]:8} {_share(total[1], total[0])} {_share(total[2], total[0])}")


def _word(name):
    """Return what stands after `name=` on the command line, or nothing."""
    return next((word.removeprefix(f"{name}=") for word in sys.argv if word.startswith(f"{name}=")), "")


def _share(part, whole):
    return f"{100 * part / max(1, whole):6.0f}%"


def shuffles(cases, rounds=4):
    """Print how many netlists are read in one way whatever the order of lines and the names."""
    same = 0
    for case in cases:
        readings = set()
        for seed in range(rounds):
            netlist, names = shuffled(case.netlist, Random(seed))
            readings.add(signature(netlist, {new: old for old, new in names.items()}))
        same += len(readings) == 1
        if len(readings) > 1 and "-v" in sys.argv:
            print(f"  {case.name}: {len(readings)} readings")
    print(f"one reading for {rounds} shuffles: {same} of {len(cases)}")


def adders(bits):
    """Return a ripple adder of so many bits, of NAND gates, 44 transistors a bit."""
    from tests.reading.netlists.adders import gates_bit
    from tests.reading.netlists.board import Board

    b = Board()
    for i in range(bits):
        gates_bit(b, f"a{i}", f"b{i}", f"c{i}", f"s{i}", f"c{i + 1}")
    ports = [f"{x}{i}" for x in "abs" for i in range(bits)] + ["c0", f"c{bits}", "VDD", "VSS"]
    return Netlist("adders", tuple(ports), tuple(b.devices.values()))


def registers(bits):
    """Return a shift register of so many bits, 16 transistors a bit."""
    from tests.reading.netlists.board import Board

    b = Board()
    cn, d = b.inv("c", "cn"), "d"
    for i in range(bits):
        d, _ = b.dff(d, "c", cn, f"q{i}")
    return Netlist("registers", ("d", "c", d, "VDD", "VSS"), tuple(b.devices.values()))


def inverters(count):
    """Return a chain of inverters."""
    ts = []
    for i in range(count):
        ts.append(Transistor(f"N{i}", Kind.N, f"x{i}", f"x{i + 1}", "VSS"))
        ts.append(Transistor(f"P{i}", Kind.P, f"x{i}", f"x{i + 1}", "VDD"))
    return Netlist("inverters", ("x0", f"x{count}", "VDD", "VSS"), tuple(ts))


def times(cases):
    """Print seconds of CPU for the reading of growing circuits, and the exponent."""
    from layoutdrill.reading.explain import explain_netlist

    gc.disable()  # as the command does
    print(f"{'circuit':>12} {'transistors':>12} {'seconds':>8} {'growth':>7}")
    for make, sizes in ((adders, (13, 130, 460)), (registers, (37, 370, 1250)), (inverters, (300, 3000, 10000))):
        before = None
        for size in sizes:
            netlist = make(size)
            start = process_time()
            explain_netlist(netlist)
            now = (len(netlist.transistors), process_time() - start)
            growth = f"{math.log(now[1] / before[1]) / math.log(now[0] / before[0]):.2f}" if before else ""
            print(f"{make.__name__:>12} {now[0]:12,} {now[1]:8.2f} {growth:>7}", flush=True)
            before = now
    gc.enable()
    slowest = []
    for case in cases:
        start = process_time()
        explain_netlist(case.netlist)
        slowest.append((process_time() - start, case.name, len(case.netlist.transistors)))
    print("slowest own netlists:", ", ".join(f"{name} {s:.1f} s" for s, name, _ in sorted(slowest)[-4:]))


def hard(cases):
    """Print seconds of CPU for netlists made to take long, at 60 and 600 transistors (`size=N` for another size)."""
    from layoutdrill.reading.explain import explain_netlist
    from tests.reading.netlists.hard import HARD

    gc.disable()
    sizes = [int(_word("size"))] if _word("size") else [60, 600]
    print(f"{'hard netlist':>17}", *(f"{size:>8,}" for size in sizes), "  not worked out")
    for name, make in HARD.items():
        seconds = []
        for size in sizes:
            netlist = make(size, Random(int(_word("sample") or 0)))
            start = process_time()
            explained = explain_netlist(netlist)
            explained.text()
            seconds.append(process_time() - start)
        print(f"{name:>17}", *(f"{s:8.2f}" for s in seconds), f"  {len(explained.undone)}", flush=True)
    gc.enable()


def main():
    """Print all of it, or the sections named."""
    cases = (*all_cases(), *published_cases())
    sections = {
        "outlines": outlines,
        "alarms": alarms,
        "shuffles": shuffles,
        "slips": planted_slips,
        "times": times,
        "hard": hard,
    }
    wanted = [a for a in sys.argv[1:] if not a.startswith("-") and "=" not in a]
    for name, show in sections.items():
        if not wanted or name in wanted:
            show(cases)


if __name__ == "__main__":
    main()
