"""Stages of removal: what is left follows from the films, and the evidence rule knows it."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.evidence import Fact, Sight, facts_of, shown
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.pen import Pen, as_layout
from layoutdrill.picture.perception import lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.stages import CONSUMED, Stage, doping, films_at, stages_of, substrate_kind
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import load_films
from layoutdrill.process.terms import Kind
from layoutdrill.prove import proved
from tests.each import each
from tests.picture.legibility import mean_colour

LOOK = load_look("reflected-light")


def test_growing_oxide_uses_up_silicon():
    """
    A grown oxide's silicon was 44 % of its thickness: the ratio of molar volumes, 12.06 / 27.20 cm³ (from densities of
    2.33 and 2.21 g/cm³ and molar masses 28.09 and 60.08, standard tables, from memory).
    """
    assert pytest.approx((28.09 / 2.33) / (60.08 / 2.21), abs=0.01) == CONSUMED


@each("name", process_names())
def test_the_films_go_from_the_top(name):
    """Glass only adds; down to poly no oxide lies on poly; bare silicon has no film, and nothing grows anywhere."""
    films = load_films(load_process(name))
    for place, left in zip(films.places, films_at(films, Stage.WHOLE).places, strict=True):
        assert left.films[: len(place.films)] == place.films
    for stage in stages_of(load_process(name), films):
        if stage is Stage.WHOLE:
            continue
        for place, left in zip(films.places, films_at(films, stage).places, strict=True):
            assert sum(f.nm for f in left.films) <= sum(f.nm for f in place.films), (stage, place.name)
            if stage is Stage.POLY and any(f.material == "poly" for f in left.films):
                assert left.films[-1].material == "poly"
            if stage in (Stage.BARE, Stage.STAINED):
                assert left.films == ()


@pytest.mark.parametrize("name", [n for n in process_names() if "cmos" in n])
def test_a_stain_shows_the_doping_and_the_gaps_under_gates(name):
    """Stained, p+ is darker than n+ by 20 L* (common practice), and the channel is a gap in the doping."""
    process = load_process(name)
    pen = Pen(process)

    def tone(kind, x):
        layout = as_layout("device", pen.transistor(kind))
        image = render(layout, process, Shot(LOOK, View(pen.box(x, 3, x + 1, 5), 8), stage=Stage.STAINED))
        return lightness(mean_colour(image, (0, 0, *image.size)))

    assert tone("n", 1) - tone("p", 1) > 20
    assert tone("p", 5.5) - tone("p", 1) > 15  # the channel of a p transistor lies in lighter silicon


def test_dopings_are_read_from_the_masks():
    """Of an n-well process the wafer is p, the well n, the taps the other way round (a textbook's table)."""
    process = load_process("silicon-gate-cmos")
    assert substrate_kind(process) is Kind.P
    assert doping(process, {}) == (Kind.P, False)
    assert doping(process, {"nwell": True}) == (Kind.N, False)
    assert doping(process, {"active": True, "nselect": True}) == (Kind.N, True)
    assert doping(process, {"active": True, "nselect": True, "poly": True}) == (Kind.P, False)
    assert doping(process, {"active": True, "pselect": True, "nwell": True}) == (Kind.P, True)
    assert substrate_kind(load_process("metal-gate-cmos")) is Kind.N


def test_the_evidence_rule_knows_what_a_stage_shows():
    """
    With the metal off contacts still show, bare silicon shows neither gates nor kinds, stained it shows kinds and wells
    but no contacts; down to poly nothing is left of contacts.
    """
    process = load_process("metal-gate-cmos")
    seen = {stage: shown(Sight(LOOK, process, 4, stage=stage)) for stage in stages_of(process, load_films(process))}
    assert Fact.CONTACT in seen[Stage.METAL_OFF]
    assert not {Fact.GATE, Fact.KIND, Fact.CONTACT} & seen[Stage.BARE]
    assert {Fact.KIND, Fact.WELL, Fact.GATE} <= seen[Stage.STAINED]
    assert Fact.CONTACT not in seen[Stage.STAINED]
    silicon = load_process("silicon-gate-cmos")
    assert Fact.CONTACT not in shown(Sight(LOOK, silicon, 4, stage=Stage.POLY), facts_of(silicon))


def test_a_stage_that_a_process_lacks_is_told():
    """No poly in metal gate, no bare silicon on sapphire: the stages that there are, are named."""
    process = load_process("metal-gate-sapphire")
    layout = proved(load_cell("inverter").netlist(process), process, 1).layout
    with pytest.raises(LayoutdrillError, match="metal off"):
        render(layout, process, Shot(LOOK, View.whole(layout, process, 2), stage=Stage.STAINED))
