"""The processes that ship, and what a process file may not say."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract.materials import plan_for
from layoutdrill.process import load_process, process_names
from tests.each import each


@each("name", process_names())
def test_every_process_loads_and_can_be_planned(name):
    """A process that ships has a title, a way to tell it, transistors, and layers for all of its regions."""
    process = load_process(name)
    assert process.name == name
    assert process.title
    assert process.tell
    assert process.transistors
    plan = plan_for(process)
    for rule in process.transistors:
        assert rule.channel in plan.materials
        assert rule.gate in plan.materials


@each("name", process_names())
def test_layer_numbers_are_given_once(name):
    """No two mask layers of a process share a GDSII number."""
    numbers = [layer.gds for layer in load_process(name).layers.values() if layer.gds]
    assert len(numbers) == len(set(numbers))


def test_doping_is_inferred_from_the_expressions():
    """n and p pieces of silicon are known as such, with no word for it in the file."""
    plan = plan_for(load_process("silicon-gate-cmos"))
    doping = dict(zip(plan.materials, plan.doping, strict=True))
    assert {name: d for name, d in doping.items() if d} == {
        "ndiff": "n",
        "ntap": "n",
        "nchannel": "n",
        "pdiff": "p",
        "ptap": "p",
        "pchannel": "p",
    }


def test_an_unknown_process_is_suggested():
    """A misspelt name gets its nearest."""
    with pytest.raises(LayoutdrillError, match='no process "open-130"; did you mean "open-130nm"'):
        load_process("open-130")


MINIMAL = """\
name: small
title: small
about: a test
grid: {nm: 1000, per_lambda: 2}
layers:
  diff: {title: diffusion, role: active, gds: 1/0}
  poly: {title: poly, role: poly}
regions:
  channel: diff & poly
  wire: diff - poly
conductors:
  poly: [poly]
  wire:
cuts: []
transistors:
  - {kind: n, channel: channel, gate: poly, ends: wire}
"""


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("diff & poly", "diff & polly", 'no layer or region "polly"; did you mean "poly"?'),
        ("diff & poly", "(diff & poly", "a parenthesis is not closed"),
        ("diff & poly", "diff poly", '"poly" is not expected here; check operators and parentheses'),
        ("1/0", "1-0", 'a GDSII layer and datatype expected; write them as "66/20"'),
        ("n, channel", "m, channel", 'no kind "m"; known: n, p'),
        ("wire}", "wires}", 'no conductor "wires"; did you mean "wire"?'),
        ("wire:\n", "wired:\n", 'no layer or region "wired"; did you mean "wire"?'),
    ],
)
def test_mistakes_are_told_with_their_place(tmp_path, old, new, message):
    """File, line and column, what is wrong, and what was perhaps meant."""
    at = MINIMAL.index(old)
    line, column = MINIMAL[:at].count("\n") + 1, at - MINIMAL.rfind("\n", 0, at)
    path = tmp_path / "small.yaml"
    path.write_text(MINIMAL.replace(old, new, 1))
    with pytest.raises(LayoutdrillError) as caught:
        load_process(str(path))
    assert str(caught.value) == f"{path}:{line}:{column}: {message}"


def test_a_missing_section_is_named(tmp_path):
    """What to add, in words."""
    path = tmp_path / "small.yaml"
    path.write_text(MINIMAL.replace("about: a test\n", ""))
    with pytest.raises(LayoutdrillError, match='field "about" is missing; add a line "about: …"'):
        load_process(str(path))


def test_a_small_process_loads(tmp_path):
    """The text that the mistakes above are made in is right itself."""
    path = tmp_path / "small.yaml"
    path.write_text(MINIMAL)
    assert load_process(str(path)).lambda_nm == 2000


@pytest.mark.parametrize("supplies", ["[VSS]", "[]", "[a, b, c]"])
def test_supplies_are_two(tmp_path, supplies):
    """One supply, none or three are told, with what to write."""
    path = tmp_path / "small.yaml"
    path.write_text(MINIMAL + f"supplies: {supplies}\n")
    with pytest.raises(LayoutdrillError, match=r"two supplies expected; write the lower and the higher"):
        load_process(str(path))
