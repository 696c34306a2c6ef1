"""What is fair of questions of circuits at work: tables, functions, sequences, addresses, sizes, levels, netlists."""

import itertools
import re
from types import SimpleNamespace

import networkx as nx
import sympy

from layoutdrill.cells import find_cell
from layoutdrill.question import kinds
from layoutdrill.simulate.expression import evaluate
from tests.question import stores, switches
from tests.question.fairness.answers import grade, right_answers
from tests.question.fairness.masks import measured


def _simulated(key, specimen, rows):
    """Judge levels by the cell's function as the library writes it, or else by walking over open switches."""
    found = []
    cell = find_cell(specimen.cell)
    stage = next((s for s in cell.function if s.output == key.output), None) if cell else None
    for number, level in enumerate(rows):
        row = {name: number >> (len(key.inputs) - 1 - at) & 1 for at, name in enumerate(key.inputs)}
        given = row | {a: 1 - row[b] for a, b in key.opposite.items()}
        if stage is not None:
            right = str(int(evaluate(stage.value, {name: bool(v) for name, v in given.items()})))
        else:
            right = switches.levels(specimen.netlist, given, specimen.process.rail_levels)[key.output]
            if right is None:
                continue
        if str(right) != level:
            found.append(f"{key.output} is {right} at {row}, key {level}")
    return found


def table(kind, question, oracle):
    key = question.key
    found = _simulated(key, question.specimen, key.levels)
    turned = key.levels.translate(str.maketrans("01", "10"))
    for said, most in ((turned, 0.999), ("0" * len(key.levels), 0.999), (key.levels[:-1], 0.999)):
        if grade(kind, question, said).credit > most:
            found.append(f"{said} earns all")
    if grade(kind, question, key.levels[0]).credit <= 0:
        found.append("one right row earns nothing")
    names = [m.letter for m in question.marks]
    return found + [f"{n} is not marked" for n in (*key.inputs, key.output) if n not in names]


def function(kind, question, oracle):
    key = question.key
    found = _simulated(key, question.specimen, key.levels)
    right = kinds()["function"].solution(question).text
    if grade(kind, question, f"({right})'").credit != 0.5:
        found.append("the complement does not earn a half")
    for said in ("0", "1", f"({right})*{key.inputs[0]}", f"({right})+!{key.inputs[-1]}"):
        same = sympy_levels(said, key.inputs) == key.levels
        if (grade(kind, question, said).credit == 1) != same:
            found.append(f"{said} graded otherwise than by sympy")
    return found


def sympy_levels(text, inputs):
    """Return the truth table of an expression by sympy; `text` uses !, *, +, ^ and ' alone, as our own solutions do."""
    symbols = {f"v_{name}": sympy.Symbol(f"v_{name}") for name in inputs}
    python = re.sub(r"[A-Za-z_]\w*", lambda m: f"v_{m[0]}", text)
    python = re.sub(r"\b[01]\b", lambda m: "(a|~a)" if m[0] == "1" else "(a&~a)", python)
    python = re.sub(r"\)'", ")^(a|~a)", python.replace("!", "~").replace("*", "&").replace("+", "|"))
    whole = sympy.sympify(python, convert_xor=False, locals={**symbols, "a": sympy.Symbol("a")})
    rows = itertools.product((False, True), repeat=len(inputs))
    found = ""
    for row in rows:
        found += str(int(bool(whole.subs({symbols[f"v_{n}"]: v for n, v in zip(inputs, row, strict=True)}))))
    return found


def transcribe(kind, question, oracle):
    """Leave a transistor out, put one in, turn a kind: never full credit, and what is wrong is told."""
    key = question.key
    lines = right_answers(question)[0].split("; ")
    found = []
    other = {"n": "p", "p": "n"}
    turned = f"{other[lines[0][0]]}{lines[0][1:]}"
    for said in ("; ".join(lines[1:]), "; ".join([*lines, f"{lines[0][0]} zz zy {key.names[0]}"]),
                 "; ".join([turned, *lines[1:]])):  # fmt: skip
        if not said:
            continue
        verdict = grade(kind, question, said)
        if verdict.credit >= 1 or not verdict.summary.startswith("Not quite"):
            found.append(f"{said} earns {verdict.credit}")
    if netlist_graph(question.specimen.netlist, key) is None:
        found.append("the picture has no netlist")
    return found


def netlist_graph(netlist, key):
    """Return a graph for networkx: nets by name where they are marked, devices by kind, gates apart from ends."""
    graph = nx.Graph()
    for net in netlist.nets:
        graph.add_node(("net", net), sort=net if net in (*key.names, *key.rails) else "net")
    for kind, gate, ends in {(t.kind, t.gate, t.ends) for t in netlist.transistors}:
        device = ("device", kind, gate, ends)
        graph.add_node(device, sort=kind.value)
        graph.add_node((device, "gate"), sort="gate")
        graph.add_edge(device, (device, "gate"))
        graph.add_edge((device, "gate"), ("net", gate))
        for at, end in enumerate(ends):
            graph.add_node((device, at), sort="end")
            graph.add_edge(device, (device, at))
            graph.add_edge((device, at), ("net", end))
    return graph


def sequence(kind, question, oracle):
    """Judge by what the words for a store mean: latch, flip-flop, two-phase bit; each step changes one input."""
    key = question.key
    found = []
    steps = [dict(zip(key.inputs, map(int, step), strict=True)) for step in key.steps]
    for before, after in itertools.pairwise(steps):
        if sum(before[name] != after[name] for name in key.inputs) != 1:
            found.append(f"{before} to {after} changes more than one input")
    model = stores.model(question.specimen.cell, key.output)
    if model is not None:
        right = "".join(model(steps))
        if any(r not in ("?", level) for r, level in zip(right, key.levels, strict=True)):
            found.append(f"{key.steps} gives {right} by the words, key {key.levels}")
    turned = key.levels.translate(str.maketrans("01", "10"))
    if grade(kind, question, turned).credit != 0:
        found.append("all the other way round earns credit")
    known = key.levels.lstrip("?")
    early = len(key.levels) - len(known)
    if early and grade(kind, question, "0" * early + known).credit == 1:
        found.append("a level that nobody can know earns all")
    if grade(kind, question, key.levels[:-1]).credit >= 1:
        found.append("a step too few earns all")
    return found


def address(kind, question, oracle):
    """Judge by the functions that the library writes for its cells, of others by walking over open switches."""
    key, specimen = question.key, question.specimen
    cell = find_cell(specimen.cell)
    stages = {stage.output: stage.value for stage in cell.function} if cell else {}
    found = []
    if key.what == "select":
        hot = []
        for number in range(1 << len(key.names)):
            row = {name: bool(number >> (len(key.names) - 1 - at) & 1) for at, name in enumerate(key.names)}
            if key.output in stages:
                hot.append(evaluate(stages[key.output], row))
            else:  # a tree of switches, which leads its signal on
                given = {**key.row, **row, **{a: not row[b] for a, b in key.opposite.items()}}
                levels = {name: int(level) for name, level in given.items()}
                hot.append(switches.levels(specimen.netlist, levels, specimen.process.rail_levels)[key.output])
        right = int(key.bits, 2)
        if hot.count(hot[right]) != 1:
            found.append(f"{key.output} is {hot[right]} at {hot.count(hot[right])} addresses")
        if any(m.letter == key.output for m in question.marks):
            found.append("the number of the line stands on the picture")
    else:
        row = {name: bool(level) for name, level in key.row.items()}
        if cell:
            right = "".join(str(int(evaluate(stages[name], row))) for name in key.names)
        else:
            walked = switches.levels(
                specimen.netlist, {n: int(v) for n, v in row.items()}, specimen.process.rail_levels
            )
            right = "".join(str(walked[name]) for name in key.names)
        if right != key.bits:
            found.append(f"{key.row} gives {right}, key {key.bits}")
    turned = key.bits.translate(str.maketrans("01", "10"))
    if grade(kind, question, turned).credit > (0.5 if turned == key.bits[::-1] else 0):
        found.append("all the other way round earns credit")
    return found


def ratio(kind, question, oracle):
    """Measure the channel under X on the masks; for a load walk every way against it with networkx."""
    key, specimen = question.key, question.specimen
    found = []
    unit = specimen.process.grid_per_lambda
    (mark,) = question.marks
    if key.what == "size":
        width, length = measured(oracle, mark.x, mark.y)
        if (round(width / unit, 2), round(length / unit, 2)) != (round(key.above, 2), round(key.below, 2)):
            found.append(f"W {width / unit} L {length / unit} by the masks, key {key.above} {key.below}")
    else:
        netlist = specimen.netlist
        load = next(t for t in netlist.transistors if t.name == key.transistor)
        rail = next(end for end in load.ends if end in specimen.process.supplies)
        other = next(name for name in specimen.process.supplies if name != rail)
        output = next(end for end in load.ends if end != rail)
        graph = nx.MultiGraph()
        fingers = {}
        for t in netlist.transistors:
            if not switches.is_load(t, netlist, specimen.process.rail_levels):
                at = (t.kind, t.gate, t.ends)
                fingers[at] = (t.length, fingers.get(at, (0, 0))[1] + t.width, t.ends)
        for at, (long, wide, ends) in fingers.items():
            graph.add_edge(*ends, key=at, squares=long / wide)
        graph.remove_nodes_from([rail])
        ways = nx.all_simple_edge_paths(graph, output, other)
        most = max(sum(graph.edges[edge]["squares"] for edge in way) for way in ways)
        if abs(load.length / load.width / most - key.right) > 0.01 * key.right:
            found.append(f"{load.length / load.width / most} by networkx, key {key.right}")
    slips = (f"{key.right * 1.4:.4f}", f"{key.right * 0.7:.4f}")
    found += [f"{said} earns all" for said in slips if grade(kind, question, said).credit >= 1]
    if abs(key.right - 1) > 0.3 and grade(kind, question, f"{1 / key.right:.4f}").credit != 0.25:
        found.append("the inverse does not earn a quarter")
    return found


def measurement(kind, question, oracle):
    """Judge by walking over open switches; a level is full where a way leads to it that loses nothing (networkx)."""
    key, specimen = question.key, question.specimen
    given = key.row | {a: 1 - key.row[b] for a, b in key.opposite.items()}
    rails = specimen.process.rail_levels
    walked = switches.levels(specimen.netlist, given, rails)
    level = walked[key.net]
    found = []
    (mark,) = (m for m in question.marks if m.ring)
    if oracle.nets(mark.x, mark.y) != {key.net}:
        found.append("X stands on another net")
    if level is None:
        return found
    right = {"z": "nothing: it floats", "x": "two drivers fighting"}.get(level)
    if right is None:
        sources = {**rails, **given}
        graph = nx.Graph(e.nodes for e in specimen.netlist.elements if e.kind == "resistor")
        for t in specimen.netlist.transistors:
            always = t.mode.value == "depletion"
            on = always or walked.get(t.gate) == (1 if t.kind.value == "n" else 0)
            beyond = t.gate in rails and t.gate not in specimen.process.supplies
            loses = not (always or beyond) and (t.kind.value == "n") == bool(level)  # textbook, from memory
            if on and not loses:
                graph.add_edge(*t.ends)
        graph.add_node(key.net)
        graph.remove_nodes_from([net for net, at in sources.items() if at != level and net in graph])
        full = any(net in graph and nx.has_path(graph, key.net, net) for net, at in sources.items() if at == level)
        side = "high" if level else "low"
        where = "below" if level else "above"
        right = f"{side}, the full level" if full else f"a poor {side}, a threshold {where} the rail"
    if right != key.right:
        found.append(f"{right} by walking, key {key.right}")
    earned = [grade(kind, question, letter).credit for letter in "abcd"]
    if earned.count(1) != 1 or any(c not in (0, 0.25, 0.5, 1) for c in earned):
        found.append(f"credits {earned}")
    return found


def convention(kind, question, oracle):
    """Judge by the duality of boolean algebra (De Morgan): invert inputs and output of what the masks compute."""
    key = question.key
    usual = "".join("10"[int(level)] for level in reversed(key.levels))
    plain = SimpleNamespace(inputs=key.inputs, output=key.output, opposite=key.opposite)
    found = _simulated(plain, question.specimen, usual)
    right = kinds()["other convention"].solution(question).text
    if sympy_levels(right, key.inputs) != key.levels:
        found.append(f"sympy reads {right} otherwise")
    slips = {"".join("10"[int(level)] for level in usual): 0.5, usual[::-1]: 0.5, usual: 0.25}
    for levels, credit in slips.items():
        if levels == key.levels or usual in (usual[::-1], "".join("10"[int(v)] for v in usual[::-1])):
            continue
        earned = grade(kind, question, _sum(levels, key.inputs)).credit
        if earned != credit:
            found.append(f"{levels} earns {earned}, not {credit}")
    return found


def _sum(levels, inputs):
    terms = [
        "*".join(n if r >> (len(inputs) - 1 - at) & 1 else f"!{n}" for at, n in enumerate(inputs))
        for r, level in enumerate(levels)
        if level == "1"
    ]
    return " + ".join(f"({term})" for term in terms)


def reading_check(kind, question, oracle):
    """Judge by networkx: one list is isomorphic to the picture, the other only when its wrong line is left out."""
    key, specimen = question.key, question.specimen
    rails = specimen.process.supplies
    lists = {fact[0]: [row.split(" ", 1)[1].split() for row in fact[3:].rstrip(".").split("; ")]
             for fact in question.facts if fact[1:3] == ": "}  # fmt: skip
    marked = [m.letter for m in question.marks]
    known = {*marked, *(r for r in rails if r in specimen.netlist.nets)}
    own = {(t.kind.value, t.gate, *t.ends) for t in specimen.netlist.transistors}
    truth = _rows_graph(own, known)
    found = []
    same = {reader: _alike(_rows_graph(rows, known), truth) for reader, rows in lists.items()}
    if same != {key.reader: False, ({"A", "B"} - {key.reader}).pop(): True}:
        found.append(f"isomorphic: {same}, key {key.reader}")
    wrong = lists[key.reader]
    mended = [
        i + 1
        for i in range(len(wrong))
        if any(_alike(_rows_graph(wrong[:i] + wrong[i + 1 :], known), _rows_graph(own - {out}, known)) for out in own)
    ]
    if tuple(mended) != key.lines and len(own) == len(wrong):
        found.append(f"lines that mend it: {mended}, key {key.lines}")
    other = next(n for n in range(1, key.count + 1) if n not in key.lines)
    innocent = ({"A", "B"} - {key.reader}).pop()
    for said, credit in ((f"{key.reader} {other}", 0.5), (f"{innocent} {key.twin}", 0.25)):
        if grade(kind, question, said).credit != credit:
            found.append(f"{said} earns not {credit}")
    return found


def _rows_graph(rows, known):
    graph = nx.Graph()
    for net in sorted({net for _, *nets in rows for net in nets}):
        graph.add_node(("net", net), sort=net if net in known else "net")
    for i, (kind, gate, *ends) in enumerate(rows):
        graph.add_node(i, sort=kind)
        for role, net in (("gate", gate), ("one end", ends[0]), ("other end", ends[1])):
            graph.add_node((i, role), sort="gate" if role == "gate" else "end")
            graph.add_edge(i, (i, role))
            graph.add_edge((i, role), ("net", net))
    return graph


def _alike(one, other):
    return nx.is_isomorphic(one, other, node_match=lambda a, b: a["sort"] == b["sort"])
