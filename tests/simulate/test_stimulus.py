"""Stimulus files: the two forms say the same, and what cannot be meant is told with its place."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.spice import read_spice
from layoutdrill.simulate.stimulus import read_stimulus

LATCH = read_spice(
    ".subckt bit d en q1 q0 VDD VSS\nM1 q1 en d VSS nmos\nM2 q0 q1 VSS VSS nmos\nM3 q0 q1 VDD VDD pmos\n.ends\n",
    "bit.sp",
)
AS_YAML = """
vectors:
  - {d: 1, en: 1}
  - set: {en: 0}
    for: 2
    expect: {q0: 0}
  - {d: Z}
"""
AS_CSV = "d,en,q0?\n1,1,\n,0,\n,,0\nZ,,\n"


def read(tmp_path, text, name="s.yaml"):
    path = tmp_path / name
    path.write_text(text)
    return read_stimulus(path, LATCH)


def test_the_two_forms_say_the_same(tmp_path):
    """A row of CSV is a vector of one step; an empty field keeps the level."""
    one, other = read(tmp_path, AS_YAML), read(tmp_path, AS_CSV, "s.csv")
    for field in ("inputs", "watch", "step_ns"):
        assert getattr(one, field) == getattr(other, field)
    assert [(s.levels, s.expected) for s in one.steps] == [(s.levels, s.expected) for s in other.steps]
    assert [dict(s.levels) for s in one.steps] == [{"d": "1", "en": "1"}, {"en": "0"}, {}, {"d": "Z"}]


def test_clocks_begin_again_and_groups_are_taken_apart(tmp_path):
    """A clock's levels are those of its text, over and over; a group's first net is the most significant."""
    text = """
    step: 2us
    groups: {q: [q1, q0]}
    clocks: {en: "011"}
    start: {d: 0}
    vectors: [{q: 2}, {q: 0b01}, {q: "1Z"}, {q: Z}]
    steps: 6
    watch: [q]
    """
    stimulus = read(tmp_path, text)
    assert [step.levels["en"] for step in stimulus.steps] == list("011011")
    assert [(s.levels.get("q1"), s.levels.get("q0")) for s in stimulus.steps] == [
        ("1", "0"), ("0", "1"), ("1", "Z"), ("Z", "Z"), (None, None), (None, None),
    ]  # fmt: skip
    assert stimulus.steps[0].levels["d"] == "0"
    assert (stimulus.watch, stimulus.step_ns) == (("q1", "q0"), 2000)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("vectors: [{dd: 1}]", ':1:12: no net "dd" in bit; did you mean "d"?'),
        ("vectors: [{d: 2}]", ':1:15: "2" is no level; write 0, 1, X (not known) or Z (let go)'),
        ("watch: [q0]", ":1:1: nothing is put on any input; add “vectors:” or “clocks:”"),
        ("clocks: {en: up}", ':1:14: "up" is no clock; write its levels step by step in quotes, such as “0100”'),
        ('clocks: {en: "01"}\nvectors: [{en: 1}]', ":2:11: en is a clock already; set it in one place"),
        ("vectors: [{d: 1, for: 3}]", ":1:11: “for” stands among nets; write the nets under “set:”"),
        ("groups: {q: [q1, q0]}\nvectors: [{q: 4}]",
         ':2:15: "4" does not fit q, 2 nets wide; write a number from 0 to 3, or 2 levels in quotes'),
        ("groups: {d: [q1]}\nvectors: [{q1: 1}]",
         ":1:13: d is a net, and cannot be a group; give the group another name"),
        ("step: 0.1ns\nvectors: [{d: 1}]",
         ':1:7: "0.1ns" is no length of a step; write whole nanoseconds, such as 500ns or 2us'),
        ("vectors: [{d: 1}]\nsteps: 200000", ":2:8: 200000 is out of range; give a whole number from 1 to 100000"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_told_with_its_place(tmp_path, text, told):
    """File, line, column, what is wrong and what to write."""
    with pytest.raises(LayoutdrillError) as error:
        read(tmp_path, text)
    assert str(error.value).endswith("s.yaml" + told)


def test_a_table_with_a_wrong_field_is_told_by_line_and_field(tmp_path):
    """CSV has no columns of letters; its second figure is the field."""
    with pytest.raises(LayoutdrillError, match=r's.csv:2:2: "7" is no level'):
        read(tmp_path, "d,en\n1,7\n", "s.csv")
    with pytest.raises(LayoutdrillError, match=r"s.csv:2: 3 fields under 2 names"):
        read(tmp_path, "d,en\n1,0,1\n", "s.csv")
