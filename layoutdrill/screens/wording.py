"""Put question and verdict into words with their emphasis; a screen only shows them."""

from collections.abc import Sequence
from math import hypot

from textual.content import Content

from layoutdrill.learning.sure import QUESTION, STEPS
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process
from layoutdrill.question.hints import costs, percent
from layoutdrill.question.model import Answer, HintStep, Question, Specimen, Verdict
from layoutdrill.question.naming import sentence
from layoutdrill.question.registry import kinds
from layoutdrill.screens.lines import joined, line, unwrapped
from layoutdrill.screens.outlines import numbers_of

LETTERS = "abcd"
NOTHING = "nothing"
MOST_HEAD = 2
"""Words before a colon up to which a fact names itself."""
WITHOUT_QUESTION = {
    "waiting": "[$secondary]drawing and proving …[/]",
    "failed": "This question could not be made. Enter goes on to the next one.",
    "done": "[b]That was all of it.[/]",
}
"""What stands in place of a question, as markup, by the phase of a sitting."""

_DETAILS = "v: a table of its transistors, by their numbers on the picture, and their schematic."


def outlines_told(steps: Sequence[HintStep]) -> str:
    """Say in a line what the outlines and texts of the help on the picture mean."""
    words = {
        HintStep.AID: "metal darker where it lies deeper: the tracing aid, which no die has",
        HintStep.RAILS: "strokes over a wire: a supply, with its name (VDD, VSS …)",
        HintStep.DEVICES: "a numbered outline: the gate of a transistor",
        HintStep.NETS: "equal strokes and n1, n2 …: one net",
    }
    shown = [text for step, text in words.items() if step in steps]
    return f"On the picture, as help: {'; '.join(shown)}." if shown else ""


def asking(question: Question, hints: int, remark: str, *, wide: bool) -> Content:
    """
    Return the question: prompt, facts told, choices to click or press, hints shown so far, and a remark on the last
    thing typed. Narrow, two choices stand on a line.
    """
    parts = [line("[b]$prompt[/]", prompt=question.prompt)]
    if remark:
        parts.append(line("[$error]$remark[/]", remark=remark))
    parts += [line("[$secondary]$fact[/]", fact=_given(fact)) for fact in question.facts]
    if wide and question.choices:
        parts.append(Content())
    parts += _choices(question.choices, by_two=not wide)
    parts += [
        line("[$accent]Hint$cost:[/] $text", cost=f", −{percent(hint.cost)}" if costs(hint) else "", text=hint.text)
        for hint in question.hints[:hints]
    ]
    if kinds()[question.kind].measured(question):
        parts.append(line("[$secondary]$told[/]", told=_how_to_measure(question)))
    return joined(parts)


def asides(question: Question, hints: int, outlined: str, *, wide: bool) -> Content:
    """Return what stands last: what is outlined as help on the picture, and what the next hint costs."""
    parts = [line("[$secondary]$outlined[/]", outlined=outlined)] if outlined else []
    if wide and hints < len(question.hints):
        hint = question.hints[hints]
        price = f"costs {percent(hint.cost)} of the credit" if costs(hint) else "is free"
        parts.append(line("[$secondary]The next hint $price.[/]", price=price))
    return joined(parts)


def _how_to_measure(question: Question) -> str:
    """Say by which keys a length is read from the picture, and where the lettered places stand."""
    unit = question.specimen.face.unit
    places = ", ".join(f"{mark.letter} at {unit.at(mark.x, mark.y)}" for mark in question.marks)
    way = "^T shows a crosshair, Ctrl+arrows and ⇧arrows move it, and the heading tells where it stands (x, y in λ)."
    return f"To measure: F8 goes closer. {way}" + (f" {places}." if places else "")


def _given(fact: str) -> str:
    """Say that a fact is told with the question; one that names itself ("Boundary: …") needs no other name."""
    head, colon, _ = fact.partition(": ")
    named = bool(colon) and len(head.split()) <= MOST_HEAD and head.replace(" ", "").isalpha()
    return fact if named else f"Given: {fact}"


def _choices(choices: Sequence[str], *, by_two: bool) -> list[Content]:
    shown = [
        line(f"[@click=screen.do('choose_{letter}')][b $accent]{letter}[/]  $choice[/]", choice=choice)
        for letter, choice in zip(LETTERS, choices, strict=False)
    ]
    widest = max((part.cell_length for part in shown), default=0)
    if not by_two or widest > 36:
        return shown
    rows = []
    for first in range(0, len(shown), 2):
        pair = shown[first : first + 2]
        rows.append(Content("").join([pair[0].pad_right(widest + 3 - pair[0].cell_length), *pair[1:]]))
    return rows


def sureness() -> Content:
    """Return the question how sure an answer is, with its steps."""
    steps = [
        line(f"[@click=screen.do('sure_{step}')][b $accent]{step}[/]  $words[/]", words=words)
        for step, words in STEPS.items()
    ]
    return joined([line("[b]$asked[/]", asked=QUESTION), *steps, line("[$secondary]It changes no credit.[/]")])


def said(question: Question, answer: Answer) -> str:
    """Say the answer given, a letter with its choice."""
    text = answer.text.strip()
    if answer.point is not None and not text:
        return f"the place {question.specimen.face.unit.at(*answer.point)}"
    if len(text) == 1 and text.lower() in LETTERS and LETTERS.index(text.lower()) < len(question.choices):
        return question.choices[LETTERS.index(text.lower())]
    return text or NOTHING


def judged(question: Question, answer: Answer, verdict: Verdict, hints: int) -> Content:
    """Return the verdict: how it went, what is right, which feature decides."""
    tone = "$success" if verdict.correct else "$warning" if verdict.credit > 0 else "$error"
    parts = [line(f"[b {tone}]$summary[/]", summary=verdict.summary)]
    if 0 < verdict.credit < 1 or (not verdict.credit and verdict.summary.startswith("Not quite")):
        after = f" after {hints} hint{'s' * (hints > 1)}" if hints else ""
        parts.append(line("[$secondary]Credit:[/] $credit$after", credit=percent(verdict.credit), after=after))
    mine = said(question, answer)
    right = verdict.correct or verdict.summary.startswith("Right:")  # less for hints, and still right
    if not right and mine != NOTHING and mine.lower() not in verdict.summary.lower():
        parts.append(line("[$secondary]You said:[/] $said", said=mine))
    if answer.point is not None and not right and verdict.places:
        far = missed_by(question, answer.point, verdict.places)
        distance = f"About {far} λ from there to the nearest ring; the cross on the picture is yours."
        parts.append(line("[$secondary]$told[/]", told=distance))
    if verdict.right and verdict.right not in verdict.summary:
        parts.append(line("[$secondary]It is:[/] $right", right=verdict.right))
    if verdict.decides:
        parts.append(line("[$secondary]What decides:[/] $decides", decides=sentence(verdict.decides)))
    if verdict.instead:
        parts.append(line("[$secondary]Why not:[/] $instead", instead=verdict.instead))
    for name, cells in kinds()[question.kind].fields(question).items():
        dashed = f"On the picture: dashes round each of the {len(cells)} cells of {name}. F8: all of the die, or close."
        parts.append(line("[$secondary]$dashed[/]", dashed=dashed))
    if verdict.nets:
        nets = f"{'equal strokes' if len(verdict.nets) > 1 else 'strokes'}: the net {', the net '.join(verdict.nets)}"
        parts.append(line("[$secondary]On the picture: $nets.[/]", nets=nets))
    return joined(parts)


def missed_by(question: Question, point: tuple[int, int], places: Sequence[tuple[int, int]]) -> int:
    """Return how many λ a place lies from the nearest of those that were right."""
    x, y = point
    return round(min(hypot(px - x, py - y) for px, py in places) / question.specimen.process.grid_per_lambda)


def device_table(netlist: Netlist, numbers: dict[str, str], process: Process, width: int = 0) -> Content:
    """
    List the transistors by the numbers that stand on the picture: kind, gate, what it joins, size in λ. Where that is
    more than `width` columns (0: any number) the columns stand closer; where that is too wide too, two lines a
    transistor, so that no cell is ever broken.
    """
    unit = "µm" if process.grid_per_lambda > 8 else "λ"
    rows = [("", "kind", "gate net", "between", f"L × W, {unit}")]
    order = sorted(netlist.transistors, key=lambda t: (int(numbers.get(t.name, "9999")), t.name))
    for t in order:
        low, high = t.ends
        size = f"{_lambda(t.length, process)} × {_lambda(t.width, process)}" if t.length or t.width else ""
        kind = str(t.kind) + ("-dep" if t.model.endswith("d") else "")
        rows.append((numbers.get(t.name, ""), kind, t.gate, f"{low}, {high}", size))
    lines = _laid(rows, 2)
    if width and max(map(len, lines)) > width:
        close = [(*row[:3], row[3].replace(", ", ","), row[4].replace(" × ", "×").replace(", ", " ")) for row in rows]
        lines = _laid(close, 1)
    if width and max(map(len, lines)) > width:
        first = _laid([row[:3] for row in rows], 2)
        lines = [f"{text}\n    {row[3]}  {row[4]}".rstrip() for text, row in zip(first, rows, strict=True)]
    return joined([line("[$secondary]$row[/]" if at == 0 else "$row", row=text) for at, text in enumerate(lines)])


def _laid(rows: Sequence[tuple[str, ...]], gap: int) -> list[str]:
    """Return rows as lines with their columns under one another, so many spaces apart."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [(" " * gap).join(f"{cell:{w}}" for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows]


def _lambda(nm: int, process: Process) -> str:
    """Write a length in λ, or in µm where the process is drawn in nm; the table's head tells the unit."""
    return f"{round(nm / (1000 if process.grid_per_lambda > 8 else process.lambda_nm), 2):g}"


def devices_of(specimen: Specimen, width: int = 0) -> Content:
    """Return the table of a specimen's transistors, numbered as on the picture, in so many columns (0: any number)."""
    return device_table(specimen.netlist, numbers_of(specimen), specimen.process, width)


def explanation(specimen: Specimen, width: int, said: str = "", *, at_work: bool = True) -> Content:
    """
    Return what stands below a verdict: what to look for unless the verdict has `said` so already, the boundary, the
    transistors, their schematic. Where it was not asked what is `at_work`, the last two are left to the details.
    """
    from layoutdrill.screens.schematic import schematic  # noqa: PLC0415 - drawn after an answer

    parts: list[Content] = []
    if specimen.about and unwrapped(specimen.about).rstrip(".").lower() not in unwrapped(said).lower():
        parts.append(Content(sentence(unwrapped(specimen.about))))
    if specimen.boundary:
        parts.append(line("[$secondary]Counted within:[/] $text", text=specimen.boundary))
    if not specimen.netlist.transistors:  # of two pictures in one no transistor is told
        return joined(parts)
    if not at_work:
        return joined([*parts, line(f"[$secondary]{_DETAILS}[/]")])
    parts += [Content(), devices_of(specimen, width)]
    parts += [Content(), Content(schematic(specimen.netlist, specimen.process.supplies, width))]
    return joined(parts)
