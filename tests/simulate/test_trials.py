"""Runs of a stimulus, their files, and what if: against functions in Python and a published circuit."""

from itertools import product

import pytest

from layoutdrill.cli import main
from layoutdrill.netlist.spice import read_spice
from layoutdrill.simulate.damage import Damage, apply, what_if
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.stimulus import read_stimulus
from layoutdrill.simulate.trace import run
from layoutdrill.simulate.waves import csv_text, table_text, vcd_text

NAND = ".subckt nand a b y\nM1 y a k 0 nmos\nM2 k b 0 0 nmos\nM3 y a vdd vdd pmos\nM4 y b vdd vdd pmos\n.ends\n"
INV = ".subckt inv a y\nM1 y a 0 0 nmos\nM2 y a vdd vdd pmos\n.ends\n"
SWITCH = ".subckt tg a b on off\nM1 a on b 0 nmos\nM2 a off b vdd pmos\n.ends\n"
HEAD = ".global vdd\n" + NAND + INV + SWITCH
GATES = {"G10": ("G1", "G3"), "G11": ("G3", "G6"), "G16": ("G2", "G11"), "G19": ("G11", "G7"), "G22": ("G10", "G16"),
         "G23": ("G16", "G19")}  # fmt: skip
INPUTS, OUTPUTS = ("G1", "G2", "G3", "G6", "G7"), ("G22", "G23")
C17 = (
    HEAD
    + ".subckt c17 G1 G2 G3 G6 G7 G22 G23\n"
    + "".join(f"X{y} {a} {b} {y} nand\n" for y, (a, b) in GATES.items())
    + ".ends\n"
)
"""ISCAS-85's smallest circuit, six NAND gates (F. Brglez, H. Fujiwara, ISCAS 1985; from memory)."""

FLIP_FLOP = (
    ".subckt dff d c cn q\nX1 d m cn c tg\nX2 m mb inv\nX3 mb mm inv\nX4 mm m c cn tg\n"
    "X5 mb s c cn tg\nX6 s q inv\nX7 q ss inv\nX8 ss s cn c tg\n.ends\n"
)
FEEDBACK = (
    HEAD + FLIP_FLOP + ".subckt counter c q3 q2 q1 q0\nX0 c cn inv\n"
    "X1 x c cn q0 dff\nX2 q0 c cn q1 dff\nX3 q1 c cn q2 dff\nX4 q2 c cn q3 dff\n"
    "X5 q3 q2 t1 nand\nX6 q3 t1 t2 nand\nX7 q2 t1 t3 nand\nX8 t2 t3 x nand\n.ends\n"
)
"""A shift register of four with the exclusive or of its last two bits fed back: 15 states (common practice)."""


def stimulus(tmp_path, netlist, text):
    path = tmp_path / "s.yaml"
    path.write_text(text)
    return read_stimulus(path, netlist)


def every_vector(tmp_path, netlist):
    rows = [", ".join(f"{n}: {v}" for n, v in zip(INPUTS, row, strict=True)) for row in product((0, 1), repeat=5)]
    return stimulus(tmp_path, netlist, "vectors:\n" + "".join(f"  - {{{row}}}\n" for row in rows))


def logic(row, stuck=None):
    """Work the six NANDs out, one net stuck where `stuck` says so."""
    values = dict(zip(INPUTS, row, strict=True)) | dict([stuck] if stuck else [])
    for y, (a, b) in GATES.items():
        values[y] = 1 - (values[a] & values[b])
        if stuck and stuck[0] == y:
            values[y] = stuck[1]
    return values


def test_every_stuck_net_of_a_published_circuit_shows_first_where_logic_says(tmp_path):
    """All 22 single stuck nets of c17 over all 32 vectors: outputs and first vectors as worked out gate by gate."""
    netlist = read_spice(C17, "c17.sp", subckt="c17")
    vectors = every_vector(tmp_path, netlist)
    rows = list(product((0, 1), repeat=5))
    whole = run(netlist, vectors)
    for at, row in enumerate(rows):
        assert [whole.rows[at][y].level.value for y in OUTPUTS] == [str(logic(row)[y]) for y in OUTPUTS]
    for net in (*INPUTS, *GATES):
        for level in (0, 1):
            _, _, changes = what_if(netlist, vectors, Damage(stuck=((net, str(level)),)))
            for change in changes:
                y = change.net
                apart = [at for at, row in enumerate(rows) if logic(row)[y] != logic(row, (net, level))[y]]
                assert (change.surely, change.count) == (apart[0] if apart else None, len(apart)), (net, level)


def test_a_cut_gate_a_short_and_a_lost_transistor_do_what_switches_do(tmp_path):
    """A cut gate is not known; a net shorted to a rail is that rail; a NAND without a p transistor floats."""
    netlist = read_spice(C17, "c17.sp", subckt="c17")
    vectors = every_vector(tmp_path, netlist)
    _, cut, changes = what_if(netlist, vectors, Damage(cuts=("G10",)))
    told = {change.net: change for change in changes}
    assert told["G22"].maybe is not None
    assert told["G23"].maybe is None
    _, shorted, changes = what_if(netlist, vectors, Damage(shorts=(("G22", "0"),)))
    assert all(row["0"].level is Level.LOW for row in shorted.rows)
    assert changes[0].surely == next(at for at, row in enumerate(product((0, 1), repeat=5)) if logic(row)["G22"])
    _, open_p, _ = what_if(netlist, vectors, Damage(removed=("XG22.M3",)))
    floats = [at for at, row in enumerate(open_p.rows) if row["G22"].level is Level.FLOATING]
    wanted = [at for at, row in enumerate(product((0, 1), repeat=5)) if not logic(row)["G10"] and logic(row)["G16"]]
    assert floats == wanted
    assert all(cut.rows[at]["G23"].level.known for at in range(32))


def test_a_device_can_lose_one_net(tmp_path):
    """`NET:DEVICE` cuts that one device off; the rest stays."""
    netlist = read_spice(C17, "c17.sp", subckt="c17")
    changed, _, _ = apply(netlist, every_vector(tmp_path, netlist), Damage(cuts=("G22:XG22.M1",)))
    lost = next(t for t in changed.transistors if t.name == "XG22.M1")
    assert "G22" not in lost.ends
    assert sum("G22" in t.ends for t in changed.transistors) == 2


def test_a_feedback_register_steps_through_its_states(tmp_path):
    """Four bits with q3 xor q2 fed back run through all 15 states that are not 0, as shifted in Python."""
    netlist = read_spice(FEEDBACK, "f.sp", subckt="counter")
    text = "groups: {q: [q3, q2, q1, q0]}\nvectors:\n  - {c: 0, q: 1}\n  - {q: Z}\n"
    steps = "".join(f"  - {{c: {level}}}\n" for _ in range(17) for level in (1, 0))
    trace = run(netlist, stimulus(tmp_path, netlist, text + steps))
    seen = [int("".join(row[q].carried for q in ("q3", "q2", "q1", "q0")), 2) for row in trace.rows[3::2]]
    state = seen[0]
    wanted = [state]
    for _ in seen[1:]:
        state = (state << 1 & 15) | (state >> 3 ^ state >> 2) & 1
        wanted.append(state)
    assert seen == wanted
    assert len(set(seen)) == 15


def test_expectations_are_judged_and_placed(tmp_path):
    """A level held by charge meets what is expected of it; what differs is told with its line; X is not judged."""
    netlist = read_spice(HEAD + ".subckt bit d on q\nM1 d on m 0 nmos\nX1 m q inv\n.ends\n", "b.sp", subckt="bit")
    text = """vectors:
  - {d: 1, on: 1}
  - set: {on: 0, d: 0}
    expect: {m: 1, q: 0}
  - set: {}
    expect: {m: Z, d: X, q: 1}
"""
    trace = run(netlist, stimulus(tmp_path, netlist, text))
    assert [(f.step, f.net, f.expected, f.seen, f.where.line) for f in trace.failures] == [(2, "q", "1", "0", 6)]
    assert "step 2: q is 0, expected 1" in table_text(trace)


def declared(head):
    """Return the name of each identifier code, below its scopes; every declaration word by word (clause 18.2.3)."""
    words = iter(head.split())
    names, scopes = {}, []
    for keyword in words:
        said = []
        for word in words:
            if word == "$end":
                break
            said.append(word)
        if keyword == "$scope":
            assert said[0] == "module"
            assert len(said) == 2
            scopes.append(said[1])
        elif keyword == "$upscope":
            scopes.pop()
        elif keyword == "$var":
            kind, size, code, name = said
            assert (kind, size) == ("wire", "1")
            assert code not in names
            assert all(33 <= ord(c) <= 126 for c in code)
            names[code] = ".".join([*scopes[1:], name])
        elif keyword == "$timescale":
            assert said == ["1", "ns"]
        else:
            assert keyword in ("$version", "$comment", "$date")
    assert not scopes
    assert len(set(names.values())) == len(names)
    return names


def parse_dump(text):
    """Read a value change dump by the grammar of IEEE Std 1364-2001, clause 18: levels of each net at each time."""
    head, _, body = text.partition("$enddefinitions $end\n")
    names = declared(head)
    levels, found, time = {}, {}, None
    for line in body.split("\n"):
        if line.startswith("#"):
            assert time is None or int(line[1:]) > time
            time = int(line[1:])
        elif line and line[0] in "01xz":
            levels[names[line[1:]]] = line[0]
        else:
            assert line in ("", "$dumpvars", "$end")
        found[time] = dict(levels)
    return found


def test_a_dump_says_what_the_table_says(tmp_path):
    """Read back by the standard's grammar, each step has the levels of the run, and so has the CSV."""
    netlist = read_spice(C17, "c17.sp", subckt="c17")
    trace = run(netlist, every_vector(tmp_path, netlist))
    dump = parse_dump(vcd_text(trace))
    current = {}
    for at, row in enumerate(trace.rows):
        current = dump.get(at * 1000, current)
        assert current == {net: row[net].level.value for net in trace.shown}
    lines = csv_text(trace).split("\r\n")
    assert lines[0] == "step," + ",".join(trace.shown)
    assert lines[32] == "31," + ",".join(trace.rows[31][net].sign for net in trace.shown)


def test_a_dump_shows_floating_and_fighting_nets_apart(tmp_path):
    """A bus that two gates drive apart is x and fights; let go by both it is z; before the first write x alone."""
    netlist = read_spice(
        ".subckt bus a b ea eb y q VDD VSS\nM1 y ea a VSS nmos L=2u W=4u\nM2 y eb b VSS nmos L=2u W=4u\n"
        "M3 q y VSS VSS nmos L=2u W=4u\nM4 q y VDD VDD pmos L=2u W=8u\n.ends\n",
        "bus.sp",
    )
    text = "start: {a: 1, b: 0}\nvectors:\n- {ea: 0, eb: 0}\n- {eb: 1}\n- {ea: 1, eb: 1}\n- {eb: 0, ea: 0}\n"
    dump = parse_dump(vcd_text(run(netlist, stimulus(tmp_path, netlist, text))))
    seen = [(dump[at]["y"], dump[at]["fights.y"], dump[at]["q"]) for at in (0, 1000, 2000, 3000)]
    assert seen == [("z", "0", "x"), ("0", "0", "1"), ("x", "1", "x"), ("z", "0", "x")]


def test_the_command_tells_runs_files_and_damage(tmp_path, capsys):
    """One command: table, waveform file, exit code 1 for a level that is not as expected, 2 for a wrong name."""
    circuit, vectors = tmp_path / "c17.sp", tmp_path / "s.yaml"
    circuit.write_text(C17)
    vectors.write_text("start: {G1: 1, G2: 0, G3: 1, G6: 1, G7: 0}\nvectors:\n  - set: {}\n    expect: {G22: 0}\n")
    words = ["simulate", str(circuit), "--cell", "c17", "--stimulus", str(vectors)]
    assert main([*words, "-o", str(tmp_path / "o.vcd")]) == 1
    assert "step 0: G22 is 1, expected 0" in capsys.readouterr().out
    assert parse_dump((tmp_path / "o.vcd").read_text())[0]["G22"] == "1"
    assert main([*words, "--stuck", "G10", "1", "--remove", "XG19.M1"]) == 0
    told = capsys.readouterr().out
    assert "what if: XG19.M1 removed, G10 stuck at 1" in told
    assert "G22: differs first in step 0 (1 → 0), in 1 of 1 step (line 4 of the stimulus)" in told
    assert main([*words, "--remove", "M77"]) == 2
    assert 'no device "M77" in c17' in capsys.readouterr().err


@pytest.mark.parametrize("pair", [("G1", "G2"), ("G1", "vdd")])
def test_a_short_of_what_is_held_from_outside_is_refused(tmp_path, pair):
    """The tester would decide, not the chip."""
    netlist = read_spice(C17, "c17.sp", subckt="c17")
    with pytest.raises(Exception, match="both held from outside"):
        apply(netlist, every_vector(tmp_path, netlist), Damage(shorts=(pair,)))
