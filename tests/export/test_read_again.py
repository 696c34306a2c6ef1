"""What is exported as SPICE and read again is the circuit it came from, as files and by the commands a reader uses."""

from dataclasses import replace
from itertools import product

import pytest

from layoutdrill.cli import main
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.spice import write_spice
from tests.reading.netlists import all_cases
from tests.sampling import covering, spread

CASES = {case.name: case for case in all_cases()}
BIASED = """* as people write it: global supply, node 0, a biased body, m=, nf=, depletion loads, R, C, D, subcircuits
.global vdd
.subckt inv a y vbb
M1 y a 0 vbb nmos L=2u W=8u m=2
M2 vdd y y vbb ndep L=8u W=2u nf=2
.ends
.subckt nor a b y vbb
M1 y a 0 vbb nmos L=2u W=8u
M3 y b 0 vbb nmos L=2u W=8u
M2 vdd y y vbb ndep L=8u W=2u
.ends
.subckt top a b y z vbb
X1 a m vbb inv m=2
X2 m n vbb inv
X3 n y vbb inv
X4 a b k vbb nor
X5 k n z vbb nor
R1 a q 1k
D1 0 q dmod
C1 y 0 10p
.ends
"""


def fingered(netlist):
    """Return the netlist with every third transistor as one of three fingers, and the next as two devices."""
    made = []
    for at, t in enumerate(netlist.transistors):
        if at % 3 == 0:
            made.append(replace(t, width=3 * t.width, fingers=3))
        elif at % 3 == 1:
            made += [t, replace(t, name=f"{t.name}_twin", source=t.drain, drain=t.source)]
        else:
            made.append(t)
    return Netlist(netlist.name, netlist.ports, tuple(made), netlist.elements)


def exported(path, capsys):
    out = path.with_name(f"{path.stem}.blocks.sp")
    assert main(["export", str(path), "-o", str(out)]) == 0
    capsys.readouterr()
    return out


def whole(netlist):
    return netlist


@pytest.mark.parametrize(("name", "drawn"), covering(product(spread(CASES, 12), (whole, fingered))))
def test_an_exported_netlist_compares_as_equal(name, drawn, tmp_path, capsys):
    """From a flat file, and again from the hierarchical one that came of it: ports, sizes, bodies, each device."""
    source = tmp_path / "source.sp"
    source.write_text(write_spice(drawn(CASES[name].netlist)))
    first = exported(source, capsys)
    for later in (first, exported(first, capsys)):
        assert main(["compare", "--sizes", "--bodies", "--as-drawn", str(source), str(later)]) == 0
        assert main(["compare", str(source), str(later)]) == 0
        assert capsys.readouterr().out.count("equal: ") == 2


def test_what_people_write_is_kept(tmp_path, capsys):
    """A supply that is global stays so, and no port; a bias of bodies is handed down."""
    source = tmp_path / "source.sp"
    source.write_text(BIASED)
    later = exported(source, capsys)
    assert "\n.global vdd\n" in later.read_text()
    assert main(["compare", "--sizes", "--bodies", "--as-drawn", str(source), str(later), "--cell", "top"]) == 0


def test_a_file_without_ports_is_equal_to_its_blocks(tmp_path, capsys):
    """A list of transistors jotted down gets its likely ports when it is exported, and is still the same circuit."""
    source = tmp_path / "source.sp"
    source.write_text("M1 y a vss vss nmos\nM2 y a vdd vdd pmos\nM3 z y vss vss nmos\nM4 z y vdd vdd pmos\n")
    assert main(["compare", str(source), str(exported(source, capsys))]) == 0
