"""The films of a process: read from its file, checked name by name."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.evidence import Fact, facts_of, visible
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.pen import Pen
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import holds, load_films, read_films
from layoutdrill.yamldoc import loads
from tests.each import each
from tests.picture.legibility import legibility

GOOD = """base: silicon
surface: conformal
places:
  - {name: gate, where: gate, films: [oxide 50, poly 430]}
  - {name: active, where: active, films: [oxide 400]}
  - {name: field, films: [oxide 800]}
apart: [[gate, field]]
metals:
  - {layer: metal, nm: 800, holes: contact, dip: 300}
"""


def read(text):
    return read_films(loads(text, "films.yaml").root, load_process("silicon-gate-cmos"))


@each("name", process_names())
def test_every_process_has_films(name):
    """Each process that ships can be seen in reflected light; its oxides are those of real dies (10 nm to 2 µm)."""
    films = load_films(load_process(name))
    assert films.metals
    for place in films.places:
        for film in place.films:
            assert 5 <= film.nm <= 2000


def test_the_first_place_that_holds_counts():
    """Poly over active is a gate before it is active; bare wafer is the last place."""
    films, process = read(GOOD), load_process("silicon-gate-cmos")
    assert [place.name for place in films.places] == ["gate", "active", "field"]
    assert films.places[-1].where is None
    assert holds(process, films.places[0].where, {"active": True, "poly": True})
    assert not holds(process, films.places[0].where, {"active": True})
    assert films.layers(process) == ("active", "poly")


@each(
    ("old", "new", "place", "words"),
    [
        ("oxide 400", "oxid 400", ":5:43:", "materials: oxide"),
        ("oxide 400", "oxide", ":5:43:", '"oxide 700"'),
        ("where: active,", "", ":5:5:", '"where" is missing'),
        ("where: active,", "where: activ,", ":5:27:", 'did you mean "active"'),
        ("name: field,", "name: field, where: active,", ":6:26:", "bare field"),
        ("[gate, field]]", "[gate, feld]]", ":7:16:", 'did you mean "field"'),
        ("[gate, field]]", "[gate]]", ":7:9:", "two places"),
        ("layer: metal", "layer: mettle", ":9:13:", 'did you mean "metal"'),
        ("holes: contact", "holes: contacts", ":9:36:", 'did you mean "contact"'),
        ("surface: conformal", "surface: bumpy", ":2:10:", "conformal"),
    ],
)
def test_mistakes_are_told_with_their_place(old, new, place, words):
    """File, line and column, what is wrong, what to write."""
    assert old in GOOD
    with pytest.raises(LayoutdrillError) as caught:
        read(GOOD.replace(old, new, 1))
    assert f"films.yaml{place}" in str(caught.value)
    assert words in str(caught.value)


NMOS = """name: two-inch-nmos
title: silicon-gate NMOS
about: Depletion loads and buried contacts.
grid: {nm: 1250, per_lambda: 2}
layers:
  diffusion: {title: diffusion, role: active}
  implant: {title: implant, role: implant}
  buried: {title: buried contact, role: buried-contact}
  poly: {title: poly, role: poly}
  contact: {title: contact, role: contact}
  metal: {title: metal, role: metal}
regions:
  gate: diffusion & poly - buried
  depletion: gate & implant
  enhancement: gate - implant
  ndiff: diffusion - poly
  lap: diffusion & poly & buried
conductors:
  metal: [metal]
  poly: [poly]
  ndiff:
  lap:
cuts:
  - {layer: contact, upper: metal, lower: [poly, ndiff]}
  - {upper: poly, lower: [lap]}
transistors:
  - {kind: n, channel: enhancement, gate: poly, ends: ndiff, body: substrate}
  - {kind: n, mode: depletion, channel: depletion, gate: poly, ends: ndiff, body: substrate}
"""

BULK = """name: four-inch-bulk
title: metal-gate CMOS
about: A p-well in an n substrate.
grid: {nm: 1500, per_lambda: 2}
layers:
  pwell: {title: p-well, role: well}
  nplus: {title: n diffusion, role: n-doping}
  pplus: {title: p diffusion, role: p-doping}
  window: {title: gate window, role: thin-oxide}
  contact: {title: contact, role: contact}
  metal: {title: metal, role: metal}
regions:
  channel: window & metal - (nplus | pplus)
  nchannel: channel & pwell
  pchannel: channel - pwell
conductors:
  metal: [metal]
  nplus:
  pplus:
cuts:
  - {layer: contact, upper: metal, lower: [nplus, pplus]}
transistors:
  - {kind: n, channel: nchannel, gate: metal, ends: nplus, body: pplus}
  - {kind: p, channel: pchannel, gate: metal, ends: pplus, body: nplus}
"""


PMOS = """name: one-inch-pmos
title: metal-gate PMOS
about: One diffusion, one metal.
grid: {nm: 4000, per_lambda: 2}
layers:
  diffusion: {title: p diffusion, role: active}
  window: {title: gate window, role: thin-oxide}
  contact: {title: contact, role: contact}
  metal: {title: metal, role: metal}
regions:
  channel: window & metal - diffusion
  pdiff: diffusion
conductors:
  metal: [metal]
  pdiff:
cuts:
  - {layer: contact, upper: metal, lower: [pdiff]}
transistors:
  - {kind: p, channel: channel, gate: metal, ends: pdiff, body: substrate}
"""


@pytest.mark.parametrize(
    ("text", "places"),
    [(PMOS, {"channel", "diffusion"}), (NMOS, {"gate", "buried contact"}), (BULK, {"channel", "well field"})],
)
def test_a_process_without_films_is_seen_all_the_same(tmp_path, text, places):
    """An author's process that states no films gets those of its family, legible at one half-pixel per λ in grey."""
    path = tmp_path / "mine.yaml"
    path.write_text(text, encoding="utf-8")
    process = load_process(str(path))
    assert places <= {place.name for place in load_films(process).places}
    for look in ("reflected-light", "stick-colours", "ink", "high-contrast"):
        for kind in Pen(process).kinds():
            assert legibility(load_look(look), process, 1, "grey", kind=kind).enough, (look, kind)


def test_what_light_shows_of_nmos(tmp_path):
    """Buried contacts are seen, the depletion implant is not: it is inferred from the circuit (common practice)."""
    path = tmp_path / "mine.yaml"
    path.write_text(NMOS, encoding="utf-8")
    process = load_process(str(path))
    seen = visible(load_look("reflected-light"), process)
    assert Fact.BURIED_CONTACT in seen
    assert Fact.DEPLETION in facts_of(process) - seen
    assert Fact.DEPLETION in visible(load_look("ink"), process)
    assert Fact.KIND not in facts_of(process)
