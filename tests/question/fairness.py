"""
What "unfair" means, as code: judged from the mask layers point by point, without the code that made the question.

A point is looked at a quarter of a grid unit off in four directions, so that an edge belongs to both its sides.
"""

import itertools
import json
import re
from bisect import bisect
from random import Random
from types import SimpleNamespace

import networkx as nx
import shapely
import sympy
from shapely import affinity

from layoutdrill.cells import find_cell
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import Light
from layoutdrill.picture.looks import load_look
from layoutdrill.process.expression import Name
from layoutdrill.question import Answer, kinds, regrade
from layoutdrill.question.circuit import pins_of
from layoutdrill.question.naming import needs_number, same_structure, widened
from layoutdrill.recognise.terms import TERMS, canonical
from layoutdrill.simulate.expression import evaluate
from tests.question import stores, switches

WELLS = ("nwell", "pwell", "well", "substrate")
NEAR = ((0.25, 0.25), (-0.25, 0.25), (0.25, -0.25), (-0.25, -0.25))


class Oracle:
    """Boolean algebra of the process's regions at single points."""

    def __init__(self, specimen):
        self.process = specimen.process
        self.shapes = specimen.face.layout.flattened().shapes
        self.specimen = specimen
        rects = [r for rects in self.shapes.values() for r in rects]
        self.xs = sorted({x for r in rects for x in (r[0], r[2])})
        self.ys = sorted({y for r in rects for y in (r[1], r[3])})
        self.squares = {}

    def on(self, name, x, y):
        if name in self.process.regions:
            return self._value(self.process.regions[name], x, y)
        return any(r[0] < x < r[2] and r[1] < y < r[3] for r in self.shapes.get(name, ()))

    def _value(self, e, x, y):
        if isinstance(e, Name):
            return self.on(e.name, x, y)
        left, right = self._value(e.left, x, y), self._value(e.right, x, y)
        return {"&": left and right, "|": left or right, "-": left and not right}[e.operator]

    def near(self, name, x, y):
        return any(self.on(name, x + dx, y + dy) for dx, dy in NEAR)

    def conductors(self, x, y):
        return {c for c in self.process.conductors if c not in WELLS and self.near(c, x, y)}

    def channels(self, x, y):
        """
        Return the kinds of the transistors at the point: flood the channel, bent or not, and see what lies round.

        The flood goes by the squares between the edges of all shapes, in each of which nothing changes.
        """
        found = set()
        for rule in self.process.transistors:
            wet = [
                square
                for square in {(bisect(self.xs, x + dx), bisect(self.ys, y + dy)) for dx, dy in NEAR}
                if self.near(rule.channel, x, y) and self._in(rule.channel, *square)
            ]
            seen = set(wet)
            while wet:
                column, row = wet.pop()
                for square in ((column + 1, row), (column - 1, row), (column, row + 1), (column, row - 1)):
                    if square in seen:
                        continue
                    seen.add(square)
                    if self._in(rule.channel, *square):
                        wet.append(square)
                    elif self._in(rule.ends, *square):
                        found.add(rule.kind.value)
        return found

    def _in(self, name, column, row):
        """Tell whether a square between two edges each way is on a region; what lies beyond all edges is not."""
        if not (0 < column < len(self.xs) and 0 < row < len(self.ys)):
            return False
        at = name, column, row
        if at not in self.squares:
            x, y = (self.xs[column - 1] + self.xs[column]) / 2, (self.ys[row - 1] + self.ys[row]) / 2
            self.squares[at] = self.on(name, x, y)
        return self.squares[at]

    def cuts(self, x, y):
        here = self.conductors(x, y)
        return [c for c in self.process.cuts
                if c.layer and self.near(c.layer, x, y) and c.upper in here and here & set(c.lower)]  # fmt: skip

    def nets(self, x, y):
        return {net for name, net in self.specimen.extraction.nets_at(x, y) if name not in WELLS}


def unfair(kind, question, oracle=None):
    """Return what is unfair about a question, an empty list where it is fair; an oracle of its specimen may be used."""
    found = []
    if len(question.prompt) > 160:
        found.append(f"prompt of {len(question.prompt)} letters")
    if len(set(question.choices)) != len(question.choices):
        found.append(f"a choice twice: {question.choices}")
    found += _choices(kind, question)
    found += CHECKS[kind.name](kind, question, oracle_for(question.specimen, oracle))
    return found


def oracle_for(specimen, oracle):
    return oracle if oracle is not None and oracle.specimen is specimen else Oracle(specimen)


def grade(kind, question, text):
    return kind.grade(question, kind.accept(question, text))


def right_answers(question):
    """Return typed answers that must all earn full credit."""
    key = question.key
    letter = {choice: "abcd"[i] for i, choice in enumerate(question.choices)}
    match question.kind:
        case "name":
            wide = widened(key.structure)
            full = [a for a in question.specimen.aliases if not needs_number(canonical(a) or a)]
            full = [a for a in full if canonical(a) not in wide]
            return [letter[key.structure], key.structure, key.structure.upper(), *full]
        case "count":
            if key.what != "transistors":
                return [str(key.right)]
            if key.single:
                return [str(key.all)]
            return [f"{key.n} {key.p} {key.all}", f"n={key.n} p={key.p}"]
        case "spot":
            return [letter[key.right], *key.truths]
        case "point":
            unit = question.specimen.process.grid_per_lambda
            centres = [((r[0] + r[2]) // 2, (r[1] + r[3]) // 2) for r in key.rects]
            return [f"{x / unit:.4f}, {y / unit:.4f}" for x, y in centres]
        case "rails":
            return [f"{key.high} {key.low} {key.right}",
                    f"{key.names[1]}={key.low} {key.names[0]}={key.high} {key.right}"]  # fmt: skip
        case "same net":
            return [" ".join(key.right) or "none", ",".join(reversed(key.right)).lower() or "None"]
        case "polarity":
            return [letter[f"{key.right}: {key.true}"], f"{key.right} {key.true_words[0]}"]
        case "turned or not":
            how = "mirrored" if key.mirrored else "rotated"
            return [kinds()["turned or not"].solution(question).text, f"{'same' if key.same else 'look-alike'}, {how}"]
        case "table":
            rows = " ".join(f"{r:0{len(key.inputs)}b}:{level}" for r, level in enumerate(key.levels))
            return [key.levels, " ".join(key.levels.upper()), rows]
        case "function":
            terms = [
                [f"{name}" if r >> (len(key.inputs) - 1 - at) & 1 else f"{name}'" for at, name in enumerate(key.inputs)]
                for r, level in enumerate(key.levels)
                if level == "1"
            ]
            sums = " + ".join("(" + "*".join(term) + ")" for term in terms)
            whole = f"{key.output} = {sums}" if len(sums) < 390 else kinds()["function"].solution(question).text
            return [kinds()["function"].solution(question).text, whole]
        case "transcribe":
            rows = [(t.kind.value, t.gate, *t.ends) for t in question.specimen.netlist.transistors]
            once = list(dict.fromkeys((k, g, *sorted(e)) for k, g, *e in rows))
            own = {net: f"own{i}" for i, net in enumerate(question.specimen.netlist.nets)
                   if net not in (*key.names, *key.rails)}  # fmt: skip
            renamed = [" ".join((k, *(own.get(n, n) for n in (g, b, a)))) for k, g, a, b in reversed(rows)]
            spice = [f"M{i} {a} {g} {b} 0 {k}mos" for i, (k, g, a, b) in enumerate(rows)]
            return ["; ".join(" ".join(row) for row in once), ";".join(renamed).upper().replace("OWN", "own"),
                    "\n".join(spice)]  # fmt: skip
        case "sequence":
            return [key.levels, " ".join(key.levels), key.levels.replace("?", "-")]
        case "address":
            pairs = " ".join(f"{name}={bit}" for name, bit in zip(key.names, key.bits, strict=True))
            number = [str(int(key.bits, 2))] if key.what == "select" else []
            return [key.bits, " ".join(key.bits), pairs, *[n for n in number if len(n) != len(key.bits)]]
        case "fault" if key.what == "find":
            (x0, y0, x1, y1), unit = key.place, question.specimen.process.grid_per_lambda
            return [f"{(x0 + x1) / 2 / unit:.4f}, {(y0 + y1) / 2 / unit:.4f}"]
        case "fault":
            return [letter[key.right], key.right]
        case "ratio":
            both = [f"{key.above:g}/{key.below:g}"]
            return [f"{key.right:.4g}", *both, *([f"W={key.above:g} L={key.below:g}"] if key.what == "size" else [])]
        case "dust or contact" | "across a seam":
            return [" ".join(key.right) or "none", ",".join(reversed(key.right)).lower() or "None"]
        case "two stages":
            return ["abcd"[key.right], key.choices[key.right], key.choices[key.right].upper()]
        case "measurement":
            short = {"high, the full level": "high", "low, the full level": "0", "nothing: it floats": "floating",
                     "two drivers fighting": "fight"}  # fmt: skip
            word = short.get(key.right, "poor " + key.right.split()[2].strip(","))
            return [letter[key.right], key.right, word, word.upper()]
        case "other convention":
            terms = [
                "*".join(n if r >> (len(key.inputs) - 1 - at) & 1 else f"!{n}" for at, n in enumerate(key.inputs))
                for r, level in enumerate(key.levels)
                if level == "1"
            ]
            sums = " + ".join(f"({term})" for term in terms)
            simple = kinds()["other convention"].solution(question).text
            return [simple, f"{key.output} = {sums}" if len(sums) < 390 else simple]
        case "reading check":
            at = key.lines[0]
            return [f"{key.reader} {at}", f"{key.reader}{at}".lower(), f"reader {key.reader}, line {at}",
                    f"line {at} of {key.reader}"]  # fmt: skip
        case "process":
            return [letter[f"{key.right}: {key.true}"], f"{key.right}: {key.true}"]
        case "undecided":
            return [letter[key.right], key.right]
    raise AssertionError(question.kind)


def _choices(kind, question):
    """Every right answer earns all, from the question and from its record; every wrong choice earns less."""
    found = []
    record = json.loads(json.dumps(question.key.json()))
    text = question.specimen.face.text()
    for number, said in enumerate(right_answers(question)):
        verdict = grade(kind, question, said)
        if not verdict.correct:
            found.append(f"right answer {said!r} earns {verdict.credit}")
        if number == 0:
            again = regrade(question.kind, record, text, question.specimen.process, Answer(said))
            if again.credit != verdict.credit:
                found.append(f"regraded {again.credit}, was {verdict.credit}")
        if not (verdict.summary and verdict.right and verdict.decides):
            found.append("a verdict without words")
    if question.choices and question.kind != "rails":
        full = [c for i, c in enumerate(question.choices) if grade(kind, question, "abcd"[i]).correct]
        if len(full) != 1:
            found.append(f"{len(full)} right choices among {question.choices}")
    if len(question.choices) not in (0, 4):
        found.append(f"{len(question.choices)} choices")
    return found


def _name(kind, question, oracle):
    found = []
    right = question.key.structure
    for i, one in enumerate(question.choices):
        if needs_number(one):
            found.append(f"{one} lacks its number")
        found += [f"synonyms {one}, {other}" for other in question.choices[:i] if same_structure(one, other)]
        if one != right and any(same_structure(one, alias) for alias in question.specimen.aliases):
            found.append(f"{one} is an alias")
    for term in TERMS:
        if not any(same_structure(term.name, name) for name in (right, *question.specimen.aliases)):
            try:
                bare = term.name in ("XOR", "XNOR", "multiplexer") and term.name in right.replace("2", "")
                if grade(kind, question, term.name).correct and not bare:
                    found.append(f"{term.name} earns all for {right}")
            except LayoutdrillError:
                pass
    return found


def _count(kind, question, oracle):
    key, netlist = question.key, question.specimen.netlist
    if key.what == "transistors":
        groups = {(t.kind, t.mode, t.gate, t.ends, t.body, t.length) for t in netlist.transistors}
        if key.all != len(groups) or key.n != sum(g[0] == "n" for g in groups):
            return [f"count {key.n} {key.p} {key.all}, but {len(groups)} groups"]
        wrong = f"{key.n + 1} {key.p} {key.all + 1}"
        if not key.single and grade(kind, question, wrong).credit >= 1:
            return ["a wrong count earns all"]
        return []
    if key.what == "stripes" and key.right != len(netlist.transistors):
        return ["stripes miscounted"]
    if key.what == "contacts" and not all(oracle.cuts(*p) for p in key.places):
        return ["a contact that is none"]
    if key.what == "crossings" and any(
        oracle.cuts(*p) or len(oracle.nets(*p)) < 2 or len(oracle.conductors(*p)) < 2 for p in key.places
    ):
        return ["a crossing that is none"]
    return [] if grade(kind, question, str(key.right + 1)).credit < 1 else ["a wrong count earns all"]


def true_at(oracle, sight, x, y):
    """Tell from the masks whether a sight is there: True, False, or None where masks at a point cannot say."""
    here = oracle.conductors(x, y)
    metals = {c for c in here if "metal" in c or c == "li1"}
    polys = {c for c in here if "poly" in c}
    ends = here & {r.ends for r in oracle.process.transistors}
    cuts = oracle.cuts(x, y)
    match sight:
        case "transistor":
            return bool(oracle.channels(x, y))
        case "contact":
            return any(not {low for low in c.lower if low in here} <= metals - {"li1"} for c in cuts)
        case "via":
            return any({low for low in c.lower if low in here} & metals for c in cuts)
        case "crossing":
            return False if len(here) < 2 or len(oracle.nets(x, y)) < 2 else None
        case "crossunder":
            return None if ends else False
        case "tap" | "guard ring":
            return None if {c for c in here if "tap" in c or "ring" in c} else False
        case "nothing":
            return not here
        case "metal":
            return None if metals else False
        case "poly":
            return None if polys else False
        case "diffusion":
            return None if ends else False
    raise AssertionError(sight)


def _spot(kind, question, oracle):
    key = question.key
    at = key.x, key.y
    found = [f"{truth} is not there" for truth in key.truths if true_at(oracle, truth, *at) is False]
    wrong = [choice for choice in question.choices if choice not in key.truths]
    found += [f"{choice} is there, but wrong" for choice in wrong if true_at(oracle, choice, *at)]
    if not any(r[0] <= at[0] <= r[2] and r[1] <= at[1] <= r[3] for r in [question.specimen.face.layout.box]):
        found.append("a mark off the picture")
    return found


def _point(kind, question, oracle):
    key = question.key
    target = key.target
    box = question.specimen.face.layout.box
    rng = Random(f"{target} {box}")
    centres = [((r[0] + r[2]) // 2, (r[1] + r[3]) // 2) for r in key.rects]
    places = [(rng.randint(box.x0, box.x1), rng.randint(box.y0, box.y1)) for _ in range(25)] + centres
    found = []
    for x, y in places:
        verdict = kind.grade(question, Answer("", (x, y)))
        truth = _target_true(oracle, target, x, y)
        if truth and verdict.credit < 1:
            found.append(f"{target} at {x, y} earns {verdict.credit}: {verdict.summary}")
        if (x, y) in centres and truth is False:
            found.append(f"no {target} at {x, y}")
        if verdict.credit >= 1 and truth is False and not _within(key.rects, key.tolerance, x, y):
            found.append(f"{x, y} earns all for {target}")
    far = (box.x1 + 50 * key.tolerance, box.y1 + 50 * key.tolerance)
    if kind.grade(question, Answer("", far)).credit:
        found.append("a point off the picture earns credit")
    return found


def _within(rects, by, x, y):
    return any(r[0] - by <= x <= r[2] + by and r[1] - by <= y <= r[3] + by for r in rects)


def _target_true(oracle, target, x, y):
    if target in ("n transistor", "p transistor"):
        return target[0] in oracle.channels(x, y)
    if target in ("contact", "crossing", "tap", "crossunder"):
        return true_at(oracle, target, x, y)
    if target.startswith("gate of "):
        if not oracle.channels(x, y):
            return False
        name = oracle.specimen.extraction.transistor_at(x, y)
        gate = next(t.gate for t in oracle.specimen.extraction.netlist.transistors if t.name == name)
        return gate == target.removeprefix("gate of ")
    if target in oracle.process.supplies:
        return target in oracle.nets(x, y) or (False if not oracle.conductors(x, y) else None)
    return None


def _rails(kind, question, oracle):
    key = question.key
    found = []
    for letter, name in ((key.high, key.names[0]), (key.low, key.names[1])):
        if oracle.nets(*key.places[letter]) != {name}:
            found.append(f"{letter} is not on {name} alone")
    for letter, at in key.places.items():
        if letter not in (key.high, key.low) and oracle.nets(*at) & set(key.names):
            found.append(f"{letter} is on a rail too")
    wrong = next(c for c in "abcd" if c != key.right)
    slips = (f"{key.low} {key.high} {key.right}", f"{key.high} {key.low} {wrong}")
    found += [f"{said} earns all" for said in slips if grade(kind, question, said).credit >= 1]
    if question.choices["abcd".index(key.right)] != key.true:
        found.append("the letter is not that of the true feature")
    return found


def _same_net(kind, question, oracle):
    key = question.key
    found = []
    nets = {letter: oracle.nets(*at) for letter, at in key.places.items()}
    found += [f"{letter} stands on {len(n)} nets" for letter, n in nets.items() if len(n) != 1]
    right = tuple(letter for letter in key.letters if nets[letter] == nets["P"])
    if right != key.right:
        found.append(f"on P's net: {right}, key {key.right}")
    if len(key.letters) < 3 or len(right) == len(key.letters):
        found.append("too few letters, or all on one net")
    for letter in key.letters:
        said = " ".join(set(key.right) ^ {letter}) or "none"
        if grade(kind, question, said).credit >= 1:
            found.append(f"{said} earns all")
    return found


def _polarity(kind, question, oracle):
    key = question.key
    at = key.x, key.y
    found = []
    if key.right in ("n", "p") and oracle.channels(*at) != {key.right}:
        found.append(f"masks say {oracle.channels(*at)}, key {key.right}")
    if key.feature == "well":
        well = any(oracle.near(name, *at) for name in WELLS)
        if well != ("in the" in key.true):
            found.append(f"well under X: {well}, key {key.true}")
    for i, choice in enumerate(question.choices):
        credit = grade(kind, question, "abcd"[i]).credit
        expected = 0 if choice.startswith(f"{key.wrong}:") else 1 if choice.endswith(f": {key.true}") else 0.5
        if credit != expected:
            found.append(f"{choice} earns {credit}")
    if grade(kind, question, key.wrong).credit:
        found.append("the wrong word earns credit")
    return found


def _turned(kind, question, oracle):
    """Judge by shapely: of the eight ways to lay the right picture on the left, those that fit best say how it lies."""
    key, face = question.key, question.specimen.face
    layers = [
        name for name, layer in face.process.layers.items() if name in face.layout.shapes and layer.role != "well"
    ]
    halves = []
    for half in (key.left, key.right):
        area = shapely.box(*half)
        found = {n: shapely.unary_union([shapely.box(*r) for r in face.layout.shapes[n]]) & area for n in layers}
        halves.append({n: affinity.translate(shape, -half.x0, -half.y0) for n, shape in found.items()})
    left, right = halves
    miss = {}
    for mirrored in (False, True):
        for turns in range(4):
            laid = {n: affinity.scale(s, 1, -1 if mirrored else 1, origin=(0, 0)) for n, s in right.items()}
            laid = {n: affinity.rotate(s, 90 * turns, origin=(0, 0)) for n, s in laid.items()}
            box = shapely.unary_union(list(laid.values())).bounds
            own = shapely.unary_union(list(left.values())).bounds
            laid = {n: affinity.translate(s, own[0] - box[0], own[1] - box[1]) for n, s in laid.items()}
            miss[mirrored, turns] = sum((laid[n] ^ left[n]).area for n in layers)
    best = min(miss.values())
    found = []
    if {mirrored for (mirrored, _), area in miss.items() if area < best + 4 * face.unit.per**2} != {key.mirrored}:
        found.append(f"how it lies: {miss}, key {key.mirrored}")
    holes = [name for name in layers if face.process.layers[name].role == "contact"]
    contact = max((r.area for name in holes for r in face.layout.shapes[name]), default=0)
    if (best < 0.5) != key.same or best > contact + 0.5:
        found.append(f"same {key.same}, but {best} differs, a contact being {contact}")
    if not key.same and (not oracle.cuts(*key.odd) or oracle.cuts(*key.lacking)):
        found.append("the odd contact is not where it is told")
    halves = [t for t in face.extraction.netlist.transistors if face.extraction.channel(t.name)[0].x1 <= key.left.x1]
    if 2 * len(halves) != len(face.extraction.netlist.transistors):
        found.append("the two have not as many transistors")
    sameness = "same cell" if key.same else "look-alike"
    for said, credit in ((sameness, 0.5), ("look-alike mirrored" if key.same else "same turned", 0)):
        if grade(kind, question, said).credit != credit:
            found.append(f"{said} earns not {credit}")
    return found


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
            right = switches.levels(specimen.netlist, given, specimen.process.supplies)[key.output]
            if right is None:
                continue
        if str(right) != level:
            found.append(f"{key.output} is {right} at {row}, key {level}")
    return found


def _table(kind, question, oracle):
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


def _function(kind, question, oracle):
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


def _transcribe(kind, question, oracle):
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


def _sequence(kind, question, oracle):
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


def _address(kind, question, oracle):
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
                hot.append(switches.levels(specimen.netlist, levels, specimen.process.supplies)[key.output])
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
            walked = switches.levels(specimen.netlist, {n: int(v) for n, v in row.items()}, specimen.process.supplies)
            right = "".join(str(walked[name]) for name in key.names)
        if right != key.bits:
            found.append(f"{key.row} gives {right}, key {key.bits}")
    turned = key.bits.translate(str.maketrans("01", "10"))
    if grade(kind, question, turned).credit > (0.5 if turned == key.bits[::-1] else 0):
        found.append("all the other way round earns credit")
    return found


def _ratio(kind, question, oracle):
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
            if not switches.is_load(t, netlist):
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


def measured(oracle, x, y):
    """Return W and L in grid units of the channel at a place: from source to drain is L."""
    for rule in oracle.process.transistors:
        if not oracle.on(rule.channel, x + 0.25, y + 0.25):
            continue
        steps, touched = {}, set()
        for name, dx, dy in (("left", -1, 0), ("right", 1, 0), ("up", 0, 1), ("down", 0, -1)):
            step = 0
            while oracle.on(rule.channel, x + 0.25 + dx * step, y + 0.25 + dy * step):
                step += 1
            steps[name] = step
            touched |= {name} if oracle.on(rule.ends, x + 0.25 + dx * step, y + 0.25 + dy * step) else set()
        across, along = steps["left"] + steps["right"] - 1, steps["up"] + steps["down"] - 1
        if touched == {"left", "right"}:
            return along, across
        if touched == {"up", "down"}:
            return across, along
    return 0, 0


def _dirt(kind, question, oracle):
    """Judge by the masks: design is a cut that joins something; dirt lies where there is no cut at all."""
    key = question.key
    found = []
    for letter, at in key.places.items():
        cut = bool(oracle.cuts(*at))
        if cut == (letter in key.right):
            found.append(f"{letter} is {'a' if cut else 'no'} cut, key {key.right}")
    if not key.right or set(key.right) == set(key.letters):
        found.append("all of it dirt, or none")
    for letter in key.letters:
        said = " ".join(set(key.right) ^ {letter}) or "none"
        if grade(kind, question, said).credit >= 1:
            found.append(f"{said} earns all")
    return found


def _seam(kind, question, oracle):
    """Judge by networkx: pieces of each conductor as shapely unions, joined where a cut lies over both."""
    key = question.key
    found = []
    groups = {letter: nets_at(oracle, at) for letter, at in key.places.items()}
    right = tuple(letter for letter in key.letters if groups[letter] == groups["P"])
    if right != key.right:
        found.append(f"on P's net: {right}, key {key.right}")
    wrong_side = [a for a, (x, _) in key.places.items() if (x >= key.at) != (a != "P")]
    if wrong_side:
        found.append(f"{wrong_side} on the wrong side of the seam")
    unit = question.specimen.process.grid_per_lambda
    if not 3 * unit <= abs(key.rise) <= 7 * unit:
        found.append(f"a jump of {key.rise}")
    for letter in key.letters:
        said = " ".join(set(key.right) ^ {letter}) or "none"
        if grade(kind, question, said).credit >= 1:
            found.append(f"{said} earns all")
    return found


def nets_at(oracle, at):
    """Return the net at a place, as a number: pieces of conductors that cuts join, found without our extractor."""
    known = oracle.__dict__.setdefault("pieces", {})
    if not known:
        areas = {}
        for name in oracle.process.conductors:
            if name not in WELLS:
                whole = region(oracle, name)
                areas[name] = [part for part in getattr(whole, "geoms", [whole]) if not part.is_empty]
        graph = nx.Graph()
        graph.add_nodes_from((name, i) for name, parts in areas.items() for i in range(len(parts)))
        for cut in oracle.process.cuts:
            holes = region(oracle, cut.layer) if cut.layer else region(oracle, cut.upper)
            for hole in getattr(holes, "geoms", [holes]):
                uppers = [i for i, part in enumerate(areas.get(cut.upper, ())) if part.intersection(hole).area > 0]
                lowers = [(low, i) for low in cut.lower for i, part in enumerate(areas.get(low, ()))
                          if part.intersection(hole).area > 0]  # fmt: skip
                graph.add_edges_from(((cut.upper, i), low) for i in uppers for low in lowers)
        known["areas"] = areas
        known["nets"] = {node: number for number, nodes in enumerate(nx.connected_components(graph)) for node in nodes}
    return {
        known["nets"][name, i]
        for name, parts in known["areas"].items()
        for i, part in enumerate(parts)
        if part.distance(shapely.Point(*at)) < 0.3
    }


def region(oracle, name):
    """Return a layer or region as a shapely area."""
    if name in oracle.process.regions:
        return _area(oracle, oracle.process.regions[name])
    return shapely.unary_union([shapely.box(*r) for r in oracle.shapes.get(name, ())])


def _area(oracle, e):
    if isinstance(e, Name):
        return region(oracle, e.name)
    left, right = _area(oracle, e.left), _area(oracle, e.right)
    return {"&": left & right, "|": left | right, "-": left - right}[e.operator]


def _stages(kind, question, oracle):
    """Judge by shapely: of the four, one differs in nothing from the place on the left, and the others plainly do."""
    key = question.key
    process = question.specimen.process
    left_box = question.specimen.face.layout.box
    width, height = key.boxes[0].width, key.boxes[0].height
    names = [n for n in oracle.shapes if process.layers[n].role not in ("well", "metal", "metal-2", "via")]
    left_area = shapely.box(left_box.x0, left_box.y0, left_box.x0 + width, left_box.y1)
    areas = {n: shapely.unary_union([shapely.box(*r) for r in oracle.shapes[n]]) for n in names}
    own = {n: area & left_area for n, area in areas.items()}
    low = min(shape.bounds[1] for n, shape in _all(oracle, left_area).items() if not shape.is_empty)
    miss = []
    for box in key.boxes:
        part = {n: area & shapely.box(*box) for n, area in areas.items()}
        base = min(s.bounds[1] for s in _all(oracle, shapely.box(*box)).values() if not s.is_empty)
        moved = {n: affinity.translate(s, left_box.x0 - box.x0, low - base) for n, s in part.items()}
        miss.append(sum((moved[n] ^ own[n]).area for n in names))
    found = []
    if miss.index(min(miss)) != key.right or min(miss) > 0 or sorted(miss)[1] <= 0:
        found.append(f"the four differ by {miss}, key {key.right}")
    earned = sorted(grade(kind, question, letter).credit for letter in "abcd")
    mirrored = sum(what.startswith("a mirror image") for what in key.what)
    if earned != [*[0.25] * mirrored, *[0.5] * (3 - mirrored), 1]:
        found.append(f"credits {earned}")
    if height > 400 * process.grid_per_lambda:
        found.append("too high to be seen")
    return found


def _all(oracle, area):
    return {n: shapely.unary_union([shapely.box(*r) for r in rects]) & area for n, rects in oracle.shapes.items()}


def _measurement(kind, question, oracle):
    """Judge by walking over open switches; a level is full where a way leads to it that loses nothing (networkx)."""
    key, specimen = question.key, question.specimen
    given = key.row | {a: 1 - key.row[b] for a, b in key.opposite.items()}
    walked = switches.levels(specimen.netlist, given, specimen.process.supplies)
    level = walked[key.net]
    found = []
    (mark,) = (m for m in question.marks if m.ring)
    if oracle.nets(mark.x, mark.y) != {key.net}:
        found.append("X stands on another net")
    if level is None:
        return found
    right = {"z": "nothing: it floats", "x": "two drivers fighting"}.get(level)
    if right is None:
        low, high = specimen.process.supplies
        sources = {low: 0, high: 1, **given}
        graph = nx.Graph()
        for t in specimen.netlist.transistors:
            always = t.mode.value == "depletion"
            on = always or walked.get(t.gate) == (1 if t.kind.value == "n" else 0)
            loses = not always and (t.kind.value == "n") == bool(level)  # n loses on high, p on low: textbook, memory
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


def _convention(kind, question, oracle):
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


def _reading_check(kind, question, oracle):
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


def _process(kind, question, oracle):
    """Judge by the masks: what the cue says is so here, and would not be so in the other process."""
    key = question.key
    roles = {layer.role for layer in question.specimen.process.layers.values()}
    kinds_here = {rule.kind.value for rule in question.specimen.process.transistors}
    says = {
        "at each gate wide metal": "poly" not in roles,
        "at each gate a strip": "poly" in roles,
        "the transistors on the low": "well" in roles and "nwell" not in question.specimen.process.layers,
        "the transistors on the high": "nwell" in question.specimen.process.layers,
        "no edge of a well": "well" not in roles,
        "an input drives transistors towards either": kinds_here == {"n", "p"},
        "an input drives transistors towards one": len(kinds_here) == 1,
        "nowhere does one wire": "metal-2" not in roles,
        "a second layer": "metal-2" in roles,
        "the gate of the load is tied to its": "implant" in roles,
        "the gate of the load is tied to a": "implant" not in roles and len(kinds_here) == 1,
    }
    found = []
    for cue, so in ((key.true, True), (key.shared, True), (key.false, False)):
        (told,) = (value for start, value in says.items() if cue.startswith(start))
        if told is not so:
            found.append(f"{cue}: {told} by the masks")
    if question.specimen.process.title != key.right or key.wrong == key.right:
        found.append("the process is another")
    earned = sorted(grade(kind, question, letter).credit for letter in "abcd")
    if earned != [0, 0.25, 0.5, 1] or grade(kind, question, key.right).credit != 0.5:
        found.append(f"credits {earned}")
    return found


def _undecided(kind, question, oracle):
    """Judge by the rule's own door, at the picture of the key, and by what is common practice of pads and stains."""
    key, process = question.key, question.specimen.process
    light = Light(load_look(key.look), key.lot, key.wear)
    told = key.fact in {fact.value for fact in question.specimen.face.shows(light)}
    found = []
    if told != (key.right == "this picture tells it"):
        found.append(f"{key.fact} shown: {told}, key {key.right}")
    if key.right.startswith("tracing") and key.fact != "rails":
        found.append("pads tell rails only")
    if key.right.startswith("light from below") and not process.name.endswith("sapphire"):
        found.append("light does not come through bulk silicon")
    earned = [grade(kind, question, letter).credit for letter in "abcd"]
    if earned.count(1) != 1 or any(c not in (0, 0.25, 0.5, 1) for c in earned):
        found.append(f"credits {earned}")
    return found


def _fault(kind, question, oracle):
    """Two dies differ nowhere but at the defect; the levels are those of a plain walk over open switches."""
    key, specimen = question.key, question.specimen
    if key.what == "find":
        found = []
        if kind.grade(
            question, Answer("", (key.place[2] + 9 * key.tolerance, key.place[3] + 9 * key.tolerance))
        ).credit:
            found.append("a far place earns credit")
        if key.twin is not None:
            shift = key.place[0] - key.twin[0]
            masks = specimen.face.layout.flattened().shapes
            line = min(r[0] for rects in masks.values() for r in rects) + shift
            areas = []
            for rects in masks.values():
                one = shapely.union_all([shapely.box(*r) for r in rects if r[0] < line - 2])
                other = shapely.union_all([shapely.box(*r) for r in rects if r[0] >= line - 2])
                apart = one.symmetric_difference(affinity.translate(other, -shift, 0))
                areas += [apart] if apart.area else []
            whole = shapely.union_all(areas)
            if not whole.area or not shapely.box(*key.twin).buffer(2 * key.tolerance).covers(whole):
                found.append(f"the dies differ at {whole.bounds}, told {key.twin}")
        return found
    column = key.column
    if key.what == "fits":
        return [] if len(set(column)) >= 1 and key.right in question.choices else ["no right choice"]
    if key.output not in specimen.netlist.nets:
        return []
    pins = pins_of(specimen)
    found = []
    for number, level in enumerate(column):
        bits = [number >> place & 1 for place in reversed(range(len(key.inputs)))]
        given = dict(zip(key.inputs, bits, strict=True))
        given |= {a: 1 - given[b] for a, b in pins.opposite.items()}
        seen = switches.levels(specimen.netlist, given, specimen.process.supplies)[key.output]
        if seen is not None and str(seen) != {"Z": "z", "!": "x"}.get(level, level) and level != "X":
            found.append(f"{given}: {seen}, told {level}")
    return found


def _block(kind, question, oracle):
    raise AssertionError("small cells have no plan; whole dies are judged in test_block.py")


CHECKS = {
    "fault": _fault,
    "block": _block,
    "dust or contact": _dirt,
    "across a seam": _seam,
    "two stages": _stages,
    "measurement": _measurement,
    "other convention": _convention,
    "reading check": _reading_check,
    "process": _process,
    "undecided": _undecided,
    "ratio": _ratio,
    "address": _address,
    "sequence": _sequence,
    "transcribe": _transcribe,
    "table": _table,
    "function": _function,
    "turned or not": _turned,
    "name": _name,
    "count": _count,
    "spot": _spot,
    "point": _point,
    "rails": _rails,
    "same net": _same_net,
    "polarity": _polarity,
}
