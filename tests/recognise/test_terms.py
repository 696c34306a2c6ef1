"""The trade's words are understood in their usual spellings."""

from layoutdrill.recognise.terms import TERMS, canonical, confusion, family, lookalikes, term
from tests.each import each


@each(
    ("typed", "meant"),
    [
        ("NOT gate", "inverter"),
        ("an inverter", "inverter"),
        ("TG", "transmission gate"),
        ("Transmission-Gate", "transmission gate"),
        ("bilateral switch", "transmission gate"),
        ("clocked inverter", "tri-state inverter"),
        ("2-input NAND", "NAND2"),
        ("two input nand gate", "NAND2"),
        ("nand 3", "NAND3"),
        ("nand", "NAND"),
        ("aoi 21", "AOI21"),
        ("and-or-invert 221", "AOI221"),
        ("exclusive or", "XOR"),
        ("2-input exclusive nor", "XNOR2"),
        ("mux", "multiplexer"),
        ("4 to 1 mux", "4:1 multiplexer"),
        ("2:1 multiplexer", "2:1 multiplexer"),
        ("3-to-8 decoder", "3-to-8 decoder"),
        ("master-slave", "register bit"),
        ("D latch", "latch"),
        ("SRAM cell", "static RAM cell"),
        ("tunnel", "crossunder"),
        ("xyzzy", None),
        ("", None),
    ],
)
def test_usual_spellings(typed, meant):
    """Spellings in use (common practice) mean one canonical term."""
    assert canonical(typed) == meant


def test_small_slips_are_forgiven_only_when_asked():
    """A swapped or missing letter is forgiven in long words, never in short ones."""
    assert canonical("trasmission gate") is None
    assert canonical("trasmission gate", typos=True) == "transmission gate"
    assert canonical("invertre", typos=True) == "inverter"
    assert canonical("nor2", typos=True) == "NOR2"
    assert canonical("nxr", typos=True) is None


def test_no_spelling_means_two_things():
    """Each alias belongs to one term, and each canonical name to itself."""
    seen: dict[str, str] = {}
    for entry in TERMS:
        assert canonical(entry.name) == entry.name
        for word in entry.aliases:
            assert seen.setdefault(word, entry.name) == entry.name
            assert canonical(word) == entry.name, word


def test_confusions_name_known_terms():
    """What a term may be mistaken for is itself a term."""
    for entry in TERMS:
        for other in lookalikes(entry.name):
            assert term(other)
            assert confusion(entry.name, other)
    assert family("AOI221") == "AOI"
    assert family("2:1 multiplexer") == "multiplexer"
    assert "parallel" in confusion("pass transistor", "transmission gate")
    assert confusion("NAND3", "NOR3") is not None
    assert confusion("inverter", "RAM array") is None
