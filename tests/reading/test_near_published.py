"""A name given by what a circuit does goes with it: one consistent change of wiring, and it is called otherwise."""

from dataclasses import replace

from layoutdrill.recognise.whole import recognise
from tests.reading.published import published_cases

CASES = {case.name: case for case in published_cases()}
CHANGES = {
    # by case: the devices (by the start of their names), the net that they lead to or are gated by, the net instead
    "majority_of_five": ("yn.", "e", "d"),
    "dual_mux_4": ("yn1.", "bn", "b"),
    "equality": ("y.", "x5", "x4"),
    "carry_select": ("s3.t1", "u3", "u2"),
    "brent_kung": ("n31", "G32", "g2"),
    "array_multiplier": ("m2.", "p02", "p20"),
    "bcd_adder": ("kn.", "z1", "s0"),
    "booth_recoder": ("u.", "x1", "x1n"),
    "carry_chain": ("k2.pass", "p1", "p2"),
    "crc_4": ("q2.in", "q1", "fb"),
    "johnson_decade": ("q4.in", "q3", "q1"),
    "ring_counter": ("d.", "q1", "q3"),
    "prescaler": ("d1.", "q1", "mode"),
    "serial_adder": ("m.s", "cn", "sn"),
    "scan_latches": ("g41", "a", "c"),
    "jk_flip_flop": ("g2.", "q", "qn"),
    "boundary_cells": ("z1.t1", "u1", "r1"),
    "pulsed_latch": ("q.n", "k3", "k2"),
    "sense_flip_flop": ("rb.n", "sb", "q"),
    "nand_match_word": ("c2.s", "m2", "pre"),
    "eight_transistor_ram": ("c20.r2", "rw2", "rw1"),
    "handshake_fifo": ("y1.", "c2n", "an"),
    "transceiver": ("a", "eb", "ea"),
    "two_phase_clock": ("g2.", "f1", "f2"),
    "bootstrap_driver": ("y.up", "g", "a"),
    "analog_changeover": ("l0.n", "m0", "l0"),
    "log_shifter": ("r13.t1", "r05", "r04"),
}


def rewired(netlist, start, old, new):
    """Return the netlist with some devices on another net, each end and gate of theirs that was on the old one."""
    mine = [t for t in netlist.transistors if t.name.startswith(start) and old in t.terminals]
    assert mine, (start, old)
    assert new in netlist.nets
    return replace(netlist, transistors=tuple(t.renamed({old: new}) if t in mine else t for t in netlist.transistors))


def test_what_does_something_else_is_called_otherwise():
    kept = []
    for name, change in CHANGES.items():
        near = rewired(CASES[name].netlist, *change)
        if recognise(near).heading == CASES[name].head:
            kept.append((name, change))
    assert not kept
