"""What is fair of questions of a die: dirt, seams, stages, its process, what cannot be told, what is broken."""

import shapely
from shapely import affinity

from layoutdrill.face import Light
from layoutdrill.picture.looks import load_look
from layoutdrill.question import Answer
from layoutdrill.question.circuit import pins_of
from tests.question import switches
from tests.question.fairness.answers import grade
from tests.question.fairness.masks import nets_at


def dirt(kind, question, oracle):
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


def seam(kind, question, oracle):
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


def stages(kind, question, oracle):
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


def process(kind, question, oracle):
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


def undecided(kind, question, oracle):
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


def fault(kind, question, oracle):
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
        seen = switches.levels(specimen.netlist, given, specimen.process.rail_levels)[key.output]
        if seen is not None and str(seen) != {"Z": "z", "!": "x"}.get(level, level) and level != "X":
            found.append(f"{given}: {seen}, told {level}")
    return found


def block(kind, question, oracle):
    raise AssertionError("small cells have no plan; whole dies are judged in test_block.py")
