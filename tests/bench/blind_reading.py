"""
Make a folder of pictures with questions to be answered blind, and grade the answers.

    python -m tests.bench.blind_reading make FOLDER [--wear W] [--arrays] [--per-kind N] [--seed N] [--kinds KIND …]
        [--processes PROCESS …]
    python -m tests.bench.blind_reading grade FOLDER ANSWERS.txt

`make` writes FOLDER/pictures/NNN.png and FOLDER/questions.txt, which a reader may see, and FOLDER/key.json, which a
reader may not. Each picture is the photograph itself (reflected light, or the question's own look; no tracing aid; 3
half-pixels per λ, or what the question asks for), each
pixel enlarged to a square; rings and letters are set on the enlarged picture. A point is answered in pixels of the
PNG, counted from its upper left corner. ANSWERS.txt holds a line a question, `007: b` or `007: 312,140`.
"""

import argparse
import json
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import Light
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.evidence import facts_of
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Question, ask_in_look, kinds
from layoutdrill.question.evidence_rule import TELLABLE
from layoutdrill.question.kind import Group
from layoutdrill.question.regrade import restored

PROCESSES = (
    "metal-gate-cmos", "metal-gate-sapphire", "metal-gate-pmos", "silicon-gate-cmos", "silicon-gate-cmos-2m",
    "silicon-gate-nmos",
)  # fmt: skip
CELLS = (
    "inverter", "nand2", "nor2", "nand3", "nor3", "aoi21", "oai21", "mux2_tg", "transmission_gate_own", "latch_static",
    "latch_pass", "xor2_compact", "xor2_nand", "ram_6t", "buffer", "and2", "or2", "tristate", "shift_two_phase",
)  # fmt: skip
ARRAYS = (
    "decoder2_nor_own", "decoder2_nand_own", "decoder2_tree_own", "decoder3_nor", "decoder3_nand", "ram_array_2x2",
    "register_row_3", "shift_register_4", "shift_register_dynamic_4", "rom_flash", "pla_scan", "memory_array_2x3",
)  # fmt: skip
SUITING = {
    "address": ("half_adder", "decoder2_nor_own", "decoder2_nand_own", "decoder2_tree_own", "rom_flash", "pla_scan"),
    "sequence": ("latch_static", "latch_pass", "latch_gates", "shift_two_phase"),
    "ratio": ("inverter", "nand2", "nor2", "nor3", "aoi21", "ram_6t"),
    "reading check": ("nand2", "nor2", "nand3", "nor3", "aoi21", "oai21", "mux2_tg", "tristate", "ram_6t"),
    "transcribe": ("nand2", "nor2", "nor3", "aoi21", "oai21", "tristate", "mux2_tg"),
}
"""Cells for kinds that do not fit every gate."""
SCALE = 3
ENLARGED = 4
ARRAYS_ENLARGED = 3
LOOK = "reflected-light"


READ = tuple(name for name, kind in kinds().items() if kind.group in (Group.SEE, Group.NAME))
"""The kinds of the eye: what the others ask follows from them."""


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    make = commands.add_parser("make")
    make.add_argument("folder", type=Path)
    make.add_argument("--wear", type=float, default=0.5)
    make.add_argument("--arrays", action="store_true", help="whole arrays through a ×10 objective")
    make.add_argument("--per-kind", type=int, default=10)
    make.add_argument("--seed", type=int, default=1)
    make.add_argument("--kinds", nargs="+", default=list(READ), choices=list(kinds()), metavar="KIND")
    make.add_argument("--processes", nargs="+", default=list(PROCESSES), choices=PROCESSES, metavar="PROCESS")
    grade = commands.add_parser("grade")
    grade.add_argument("folder", type=Path)
    grade.add_argument("answers", type=Path)
    options = parser.parse_args(arguments)
    if options.command == "grade":
        return _grade(options.folder, options.answers)
    jobs = [name for name in options.kinds for _ in range(options.per_kind)]
    return _make(options.folder, options.wear, jobs, options.seed, options.processes, arrays=options.arrays)


def _make(folder: Path, wear: float, jobs: list[str], seed: int, processes: Sequence[str], *, arrays: bool) -> int:
    pictures = folder / "pictures"
    pictures.mkdir(parents=True, exist_ok=True)
    rng = Dice.from_text(f"blind {seed} {wear} {arrays}")
    jobs = rng.shuffled(jobs)
    text = [
        "Each picture is a die seen in reflected light. Answer a line each in the form “007: answer”: the letter of a",
        "choice, or what is asked to be typed; a place as “007: column,row” in pixels of the PNG from its upper left",
        "corner. Places told in λ count from the drawing's lower left corner: x to the right, y upwards.",
        "",
    ]
    keys = []
    for number, name in enumerate(jobs, 1):
        question = _question(name, rng, wear, processes, arrays=arrays)
        view, image = _picture(question, arrays=arrays)
        path = pictures / f"{number:03}.png"
        image.save(path)
        text += _told(number, question, round(view.pixels_per_lambda * (ARRAYS_ENLARGED if arrays else ENLARGED)))
        keys.append(_key(number, question, view, arrays=arrays))
        print(f"{number:03} {name}: {question.specimen.cell} in {question.specimen.process.name}", flush=True)
    (folder / "questions.txt").write_text("\n".join(text), encoding="utf-8")
    (folder / "key.json").write_text(json.dumps(keys, indent=1), encoding="utf-8")
    print(f"{len(jobs)} pictures and questions.txt in {folder}; the key is key.json")
    return 0


def _light(question: Question, *, arrays: bool) -> Light:
    """Return how a question's picture is taken."""
    specimen = question.specimen
    own = load_look(question.look) if question.look else load_look(LOOK)
    scale = max(SCALE, question.scale)
    return Light(own, specimen.seed or 0, specimen.wear, objective="10x" if arrays else "", scale=scale)


def _question(name: str, rng: Dice, wear: float, processes: Sequence[str], *, arrays: bool) -> Question:
    """Ask one of a kind about a cell and process drawn by lot, where this very picture shows what it needs."""
    for _ in range(400):
        process = rng.pick(processes)
        cell = rng.pick(SUITING.get(name, ARRAYS if arrays else CELLS))
        seed = rng.below(10_000)
        question = _asked(name, cell, process, seed, rng.below(10_000), rng.pick((0.1, 0.3, 0.5, 0.6)), wear)
        if question is None:
            continue
        specimen, light = question.specimen, _light(question, arrays=arrays)
        needed = kinds()[name].needs(question) & facts_of(specimen.process)
        if needed - (TELLABLE if question.facts else frozenset()) - specimen.face.shows(light, needed):
            continue
        if not kinds()[name].on_dirt and not all(specimen.face.is_clear(light, m.x, m.y) for m in question.marks):
            continue
        return question
    raise LayoutdrillError(f"no question of the kind “{name}” was found")


def _asked(
    name: str, cell_name: str, process: str, seed: int, dice: int, difficulty: float, wear: float
) -> Question | None:
    try:
        cell = load_cell(cell_name)
        if not cell.fits(load_process(process)):
            return None
        specimen = replace(drawn(cell, process, seed, difficulty), wear=wear)
    except LayoutdrillError:
        return None
    return ask_in_look(kinds()[name], specimen, Dice(dice), load_look(LOOK))


def _picture(question: Question, *, arrays: bool) -> tuple[View, Image.Image]:
    specimen, light = question.specimen, _light(question, arrays=arrays)
    face = specimen.face
    view = View(face.box.grown(3 * face.unit.per), light.scale)
    image = face.image(view, light)
    times = ARRAYS_ENLARGED if arrays else ENLARGED
    image = image.resize((image.width * times, image.height * times), Image.Resampling.NEAREST)
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(18)
    for mark in question.marks:
        x, y = face.seen_at(light, mark.x, mark.y)
        column, row = (v * times for v in view.to_pixel(specimen.process, x, y))
        radius = 1.1 * SCALE * times
        draw.ellipse((column - radius, row - radius, column + radius, row + radius), outline=(255, 0, 255), width=1)
        aside = 26 if column + 60 < image.width else -38
        draw.line((column, row - radius, column + aside, row - radius - 16), fill=(255, 0, 255), width=1)
        at = (column + aside, max(1.0, row - radius - 26))
        draw.rectangle((at[0] - 2, at[1], at[0] + 4 + draw.textlength(mark.letter, font), at[1] + 20), fill=(0, 0, 0))
        draw.text(at, mark.letter, fill=(255, 255, 90), font=font)
    return view, image


def _told(number: int, question: Question, pixels: int) -> list[str]:
    named = f"({question.specimen.process.title})  " if kinds()[question.kind].names_process else ""
    lines = [f"{number:03}  {named}{question.prompt}"]
    lines += [f"     {fact}" for fact in question.facts]
    if question.typed:
        lines.append(f"     One λ is {pixels} pixels of the PNG.")
    if question.grid is not None:
        lines.append(
            f"     Rows, {' '.join(question.grid.heads[:-1])}: {', '.join(''.join(r) for r in question.grid.rows)}."
        )
    lines += [f"     {'abcdefgh'[i]}  {choice}" for i, choice in enumerate(question.choices)]
    if question.pointed:
        lines.append("     (answer with a place)")
    return [*lines, ""]


def _key(number: int, question: Question, view: View, *, arrays: bool) -> dict[str, object]:
    specimen = question.specimen
    right = kinds()[question.kind].solution(question)
    return {
        "number": number,
        "kind": question.kind,
        "cell": specimen.cell,
        "process": specimen.process.name,
        "seed": specimen.seed,
        "wear": specimen.wear,
        "look": question.look,
        "scale": view.pixels_per_lambda,
        "region": list(view.region),
        "times": ARRAYS_ENLARGED if arrays else ENLARGED,
        "arrays": arrays,
        "right": right.text or right.point,
        "pointed": question.pointed,
        "choices": list(question.choices),
        "key": question.key.json(),
        "layout": specimen.face.text(),
    }


def _grade(folder: Path, answers: Path) -> int:
    """Print what was right and wrong, by kind. Questions are made anew from the key and graded as a learner's are."""
    rows = {row["number"]: row for row in json.loads((folder / "key.json").read_text("utf-8"))}
    said = {}
    for line in answers.read_text("utf-8").splitlines():
        number, colon, rest = line.partition(":")
        if colon and number.strip().isdigit():
            said[int(number)] = rest.strip()
    right: Counter[str] = Counter()
    total: Counter[str] = Counter()
    for number, row in sorted(rows.items()):
        total[row["kind"]] += 1
        if _is_right(row, said.get(number, "")):
            right[row["kind"]] += 1
        else:
            what = f"{row['kind']}, {row['cell']} in {row['process']}"
            print(f"{number:03} wrong ({what}): said {said.get(number, '-')!r}, right: {row['right']}")
    for kind in total:
        print(f"{kind:10} {right[kind]} of {total[kind]}")
    every, good = sum(total.values()), sum(right.values())
    print(f"{good} of {every} right, {100 * good / every:.1f} %")
    return 0


def _is_right(row: dict[str, object], said: str) -> bool:
    if not said:
        return False
    process = load_process(str(row["process"]))
    key: dict[str, object] = row["key"]  # type: ignore[assignment]
    kind = kinds()[str(row["kind"])]
    question = replace(restored(kind, key, str(row["layout"]), process), choices=tuple(row["choices"]))  # type: ignore[arg-type]
    if row["pointed"]:
        try:
            column, height = (float(part) for part in said.replace(" ", "").split(","))
        except ValueError:
            return False
        face = question.specimen.face
        region = Rect(*row["region"])  # type: ignore[misc]
        scale = float(str(row.get("scale", SCALE))) * int(str(row["times"])) / process.grid_per_lambda
        light = Light(load_look(str(row.get("look", "")) or LOOK), int(str(row["seed"])), float(str(row["wear"])))
        x, y = face.meant_at(light, round(region.x0 + column / scale), round(region.y1 - height / scale))
        return kind.grade(question, Answer(point=(x, y))).correct
    try:
        return kind.grade(question, kind.accept(question, said)).correct
    except LayoutdrillError:
        return False


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
