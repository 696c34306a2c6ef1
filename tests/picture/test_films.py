"""The films of a process: read from its file, checked name by name."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import holds, load_films, read_films
from layoutdrill.yamldoc import loads

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


@pytest.mark.parametrize("name", process_names())
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


@pytest.mark.parametrize(
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
