"""The design rules that processes state are the published ones."""

import pytest

from layoutdrill.process import load_process
from layoutdrill.process.design_rules import RuleKind

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


@pytest.mark.parametrize(("name", "figure"), [*MEAD_CONWAY.items(), *SCMOS.items()])
def test_silicon_gate_rules_are_the_published_figures(name, figure):
    """Each rule of silicon-gate CMOS has the figure of its source, in λ."""
    process = load_process("silicon-gate-cmos")
    assert process.rules[name].value == figure * process.grid_per_lambda


def test_metal_gate_figures_lie_in_the_range_of_the_era():
    """Lines of 5 to 10 µm and a gate overlap of 1 to 3 µm (common practice of the 1970s)."""
    process = load_process("metal-gate-sapphire")

    def um(rule):
        return process.nm(process.rules[rule].value) / 1000

    assert 5 <= um("metal.width") <= 10
    assert 5 <= um("channel.length") <= 10
    assert 1 <= um("gate.overlap") <= 3


@pytest.mark.parametrize("name", ["silicon-gate-cmos", "metal-gate-sapphire"])
def test_every_rule_names_its_source(name):
    """No figure stands without where it was published, or that it is common practice."""
    for rule in load_process(name).rules.values():
        assert rule.source.strip()
        assert rule.kind in (RuleKind.ABSENT, RuleKind.HOLDS) or rule.value > 0
