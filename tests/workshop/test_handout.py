"""The printed sheets, read with a PDF library that is not ours: pypdf."""

import io
from dataclasses import replace

import pytest

pytest.importorskip("reportlab", reason="the extra “print” is not installed")
pypdf = pytest.importorskip("pypdf", reason="the tests' PDF reader is not installed")

from layoutdrill.face.shades import TOLD  # noqa: E402
from layoutdrill.picture.looks import load_look  # noqa: E402
from layoutdrill.process import load_process  # noqa: E402
from layoutdrill.question import kinds  # noqa: E402
from layoutdrill.question.evidence_rule import tell_hidden_facts  # noqa: E402
from layoutdrill.workshop.asking import process_of, question_of  # noqa: E402
from layoutdrill.workshop.handout import CAUTION, on_paper, write_handout, write_key  # noqa: E402
from layoutdrill.workshop.paper_legend import swatches  # noqa: E402


@pytest.fixture(name="sheets", scope="module")
def _sheets(made, tmp_path_factory):
    path = tmp_path_factory.mktemp("paper") / "a.pdf"
    pages = write_handout(made, path)
    return pages, path.read_bytes()


def text_of(content):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)


def test_every_question_is_printed_with_room_for_its_answer(made, sheets):
    """Prompts, choices and cautions are there; nothing of the key is."""
    pages, content = sheets
    text = " ".join(text_of(content).split())
    assert len(pypdf.PdfReader(io.BytesIO(content)).pages) == pages
    assert " ".join(CAUTION.split()) in text
    for sheet, entry in zip(made.sheets, made.key, strict=True):
        assert f"{sheet.number}. {' '.join(on_paper(sheet).split())}" in text
        assert all(choice in text for choice in sheet.choices)
        assert entry.about[:40] not in text or not entry.about


def test_fonts_are_embedded(sheets):
    """Every font of every page carries its file (ISO 32000, FontFile2), so that λ prints anywhere."""
    _, content = sheets
    for page in pypdf.PdfReader(io.BytesIO(content)).pages:
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font["/FontDescriptor"]


def test_pages_have_the_size_of_the_paper(made, sheets, tmp_path):
    """ISO 216 A4 is 210 × 297 mm; ANSI A is 8.5 × 11 inches of 72 points. What is not said is A4."""
    write_handout(replace(made, sheets=made.sheets[:1]), tmp_path / "letter.pdf", size="letter")
    for pdf, points in ((io.BytesIO(sheets[1]), (595.28, 841.89)), (tmp_path / "letter.pdf", (612, 792))):
        for page in pypdf.PdfReader(pdf).pages:
            assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(points, abs=0.01)


def test_the_same_set_prints_the_same_bytes(made, sheets, tmp_path):
    """No date, no random names."""
    write_handout(made, tmp_path / "b.pdf")
    assert (tmp_path / "b.pdf").read_bytes() == sheets[1]


def test_the_key_tells_answers_and_what_decides(made, tmp_path):
    """For each question the right answer and the deciding feature stand in the key."""
    from layoutdrill.workshop.asking import truth

    write_key(made, tmp_path / "k.pdf")
    text = " ".join(text_of((tmp_path / "k.pdf").read_bytes()).split())
    for sheet in made.sheets:
        verdict = truth(made, sheet.number)
        assert f"Answer: {' '.join(verdict.right.split())}" in text
        assert " ".join(verdict.decides.split())[:40] in text
    assert text.count(".ends") == len(made.sheets)


@pytest.fixture(name="in_light", scope="module")
def _in_light(made, tmp_path_factory):
    path = tmp_path_factory.mktemp("light") / "a.pdf"
    return write_handout(made, path, look="reflected-light"), path.read_bytes()


@pytest.mark.parametrize("pages", ["sheets", "in_light"])
def test_sheets_say_what_is_what(made, request, pages):
    """A legend stands before the first question of a process: which diffusion is n and which p, metal, contact."""
    text = " ".join(text_of(request.getfixturevalue(pages)[1]).split())
    before = ""
    for sheet in made.sheets:
        asked = text.index(f"{sheet.number}. {' '.join(on_paper(sheet).split())}")
        title = process_of(made, sheet.process).title
        legend = text.rfind(f"In {title}:", 0, asked)
        assert legend >= 0
        if sheet.process != before:
            named = text[legend:asked]
            assert all(name in named for name in ("n diffusion", "p diffusion", "metal", "contact", "gate"))
        before = sheet.process


def test_a_picture_tells_what_it_hides(made, in_light):
    """Of a picture in light, the shade that tells n from p is told with the question."""
    text = " ".join(text_of(in_light[1]).split())
    questions = [question_of(made, sheet.number) for sheet in made.sheets]
    plain = [replace(q, facts=tuple(f for f in q.facts if f not in TOLD.values())) for q in questions]
    told = [tell_hidden_facts(kinds()[q.kind], q, load_look("reflected-light")).facts for q in plain]
    shades = [fact for facts in told for fact in facts if fact in TOLD.values()]
    assert shades
    assert [text.count(fact) for fact in TOLD.values()] == [shades.count(fact) for fact in TOLD.values()]


def test_ink_tells_no_shades(made, sheets):
    """A set is asked in light and tells shades there; hatchings on paper have others."""
    assert any(fact in TOLD.values() for sheet in made.sheets for fact in sheet.facts)
    text = " ".join(text_of(sheets[1]).split())
    assert not any(fact in text for fact in TOLD.values())


@pytest.mark.parametrize(
    ("look", "names"),
    [("ink", ["n diffusion", "p diffusion"]), ("dark-field", ["diffusion"])],
)
def test_a_legend_tells_n_from_p_only_where_the_look_does(look, names):
    """In dark field flat areas are black, whatever their doping: there is one diffusion."""
    shown = swatches(load_process("metal-gate-cmos"), load_look(look), 0)
    assert [swatch.name for swatch in shown if "diffusion" in swatch.name] == names


@pytest.mark.parametrize(
    ("asked", "printed"),
    [
        (
            "Which structure is this? Choose a letter, or type its name (with its inputs).",
            "Which structure is this? Tick one.",
        ),
        ("How many contacts are there? Type a number.", "How many contacts are there? Write a number."),
        ("Which type of load is it?", "Which type of load is it?"),
    ],
)
def test_paper_is_written_on(made, asked, printed):
    """Nobody types on paper, nor chooses by a key."""
    sheet = replace(made.sheets[0], prompt=asked, choices=("NAND2", "NOR2"), typed=False)
    assert on_paper(sheet) == printed


def test_what_a_look_cannot_show_is_drawn(made, tmp_path):
    """Light from below shows no gates under metal: such questions are printed in ink, and it is said why."""
    write_handout(made, tmp_path / "a.pdf", look="transmitted-light")
    text = " ".join(text_of((tmp_path / "a.pdf").read_bytes()).split())
    assert "Drawn, for the look “transmitted-light” does not show" in text
    assert "n diffusion" in text
