"""What must earn all, and what must not, for a question of any kind."""

import json

from layoutdrill.question import Answer, kinds, regrade
from layoutdrill.question.naming import needs_number, widened
from layoutdrill.recognise.terms import canonical


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


def choices(kind, question):
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
