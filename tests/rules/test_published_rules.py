"""The design rules that processes state are the published ones."""

import pytest

from layoutdrill.process import load_process, process_names
from layoutdrill.process.design_rules import RuleKind
from tests.each import each

# Mead & Conway, Introduction to VLSI Systems, 1980, chapter 2 (from memory), in λ.
MEAD_CONWAY = {
    "poly.width": 2,
    "poly.spacing": 2,
    "poly.past-active": 2,
    "poly.active": 1,
    "contact.size": 2,
    "contact.poly": 1,
    "contact.active": 1,
    "contact.metal": 1,
    "contact.gate": 2,
    "contact.spacing": 2,
    "metal.width": 3,
    "metal.spacing": 3,
}

# MOSIS scalable CMOS (SCMOS), in λ: active, poly, contact and metal figures as in the EECS427 rule sheet of the
# University of Michigan; well figures from memory.
SCMOS = {
    "active.width": 3,
    "active.spacing": 3,
    "active.past-poly": 3,
    "active.well": 5,
    "well.width": 10,
    "select.channel-n": 3,
    "select.past-active-n": 2,
    "poly.width": 2,
    "poly.past-active": 2,
    "contact.size": 2,
    "metal.width": 3,
}


# Mead & Conway's own NMOS figures, in λ (from memory); the implant reaches 1.5 past the gate, in other texts 2.
NMOS = {
    **MEAD_CONWAY,
    "active.width": 2,
    "active.spacing": 3,
    "active.past-poly": 2,
    "implant.past-gate": 1.5,
}


@each(("name", "figure"), NMOS.items())
def test_nmos_rules_are_the_published_figures(name, figure):
    """Each rule of silicon-gate NMOS has the figure of its source, in λ."""
    process = load_process("silicon-gate-nmos")
    assert process.rules[name].value == figure * process.grid_per_lambda


# SCMOS rules of the second metal, in λ (from memory): via size, spacing, surround by both metals, distance to contacts.
SECOND_METAL = {
    "via.size": 2,
    "via.spacing": 3,
    "via.metal": 1,
    "via.metal2": 1,
    "via.contact": 2,
    "metal2.width": 3,
    "metal2.spacing": 3,
}


@pytest.mark.parametrize("name", SECOND_METAL)
def test_rules_of_the_second_metal_are_the_published_figures(name):
    """Each rule of the second metal has the figure of its source, in λ."""
    process = load_process("silicon-gate-cmos-2m")
    assert process.rules[name].value == SECOND_METAL[name] * process.grid_per_lambda


@each("process_name", ["silicon-gate-cmos", "silicon-gate-cmos-2m"])
@each(("name", "figure"), [*MEAD_CONWAY.items(), *SCMOS.items()])
def test_silicon_gate_rules_are_the_published_figures(process_name, name, figure):
    """Each rule of silicon-gate CMOS has the figure of its source, in λ."""
    process = load_process(process_name)
    assert process.rules[name].value == figure * process.grid_per_lambda


@pytest.mark.parametrize("name", [name for name in process_names() if name.startswith("metal-gate")])
def test_metal_gate_figures_lie_in_the_range_of_the_era(name):
    """Lines of 5 to 10 µm and a gate overlap of 1 to 3 µm (common practice of the 1970s)."""
    process = load_process(name)

    def um(rule):
        return process.nm(process.rules[rule].value) / 1000

    assert 5 <= um("metal.width") <= 10
    assert 5 <= um("channel.length") <= 10
    assert 1 <= um("gate.overlap") <= 3


@each("name", [name for name in process_names() if load_process(name).rules])
def test_every_rule_names_its_source(name):
    """No figure stands without where it was published, or that it is common practice."""
    for rule in load_process(name).rules.values():
        assert rule.source.strip()
        assert rule.kind in (RuleKind.ABSENT, RuleKind.HOLDS) or rule.value > 0
