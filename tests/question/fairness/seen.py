"""What is fair of the questions of the eye: names, counts, places, rails, nets, kinds, what is turned."""

from random import Random

import shapely
from shapely import affinity

from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import Answer
from layoutdrill.question.naming import needs_number, same_structure
from layoutdrill.recognise.terms import TERMS
from tests.question.fairness.answers import grade
from tests.question.fairness.masks import WELLS


def name(kind, question, oracle):
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


def count(kind, question, oracle):
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


def spot(kind, question, oracle):
    key = question.key
    at = key.x, key.y
    found = [f"{truth} is not there" for truth in key.truths if true_at(oracle, truth, *at) is False]
    wrong = [choice for choice in question.choices if choice not in key.truths]
    found += [f"{choice} is there, but wrong" for choice in wrong if true_at(oracle, choice, *at)]
    if not any(r[0] <= at[0] <= r[2] and r[1] <= at[1] <= r[3] for r in [question.specimen.face.layout.box]):
        found.append("a mark off the picture")
    return found


def point(kind, question, oracle):
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


def rails(kind, question, oracle):
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


def same_net(kind, question, oracle):
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


def polarity(kind, question, oracle):
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


def turned(kind, question, oracle):
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
