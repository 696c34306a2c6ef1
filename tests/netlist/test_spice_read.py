"""SPICE and CDL text is read as simulators read it, and as people write it by hand."""

import pytest

from layoutdrill.netlist.spice import read_spice

INVERTER = """netlist inv
ports A VDD GND Y
nmos M2 gate=A ends=GND,Y body=GND L=150 W=650
pmos M1 gate=A ends=VDD,Y body=VDD L=150 W=1000
"""


@pytest.mark.parametrize(
    "text",
    [
        """
        .subckt inv A VDD GND Y
        M1 Y A VDD VDD pmos L=0.15u W=1u
        M2 Y A GND GND nmos L=0.15u W=0.65u
        .ends
        """,
        """* upper case, spaces round =, continuation lines, comments of all three sorts
        .SUBCKT INV A VDD GND Y $ ports
        M1 Y A VDD VDD PMOS
        * in between
        + L = 0.15u
        + W = 1u ; the p-channel one
        M2 Y A GND GND NMOS L=150n W=0.65U
        .ENDS INV
        .END
        what stands here is not read
        """,
        """.subckt inv A VDD GND Y
        M1 y a vdd vdd pfet_01v8_hvt m=1 w=1.0 l=0.15 mult=1 sa=0.265 topography=normal
        M2 y a gnd gnd special_nfet_01v8 w=0.65 l=0.15
        .ends inv
        """,
        """.subckt inv A VDD GND Y
        M1 Y A VDD VDD sky130_fd_pr__pfet_01v8_hvt w=1e+06u l=150000u
        M2 Y A GND GND sky130_fd_pr__nfet_01v8 w=650000u l=150000u
        .ends
        """,
        """.option scale=1e-9
        .subckt inv A VDD GND Y
        M1 Y A VDD VDD q L=150 W=1000
        M2 Y A GND GND r L=150 W=650
        .ends
        .model q pmos (vto=-0.7)
        .model r nmos (level=1, vto=0.7)
        """,
    ],
)
def test_one_circuit_in_five_spellings(text):
    """Case, suffixes, comments, continuations, kit models, model cards and scales lead to the same netlist."""
    assert read_spice(text, "inv.sp").text().lower() == INVERTER.lower()


def test_a_hand_written_netlist_needs_no_subckt_no_bodies_and_no_sizes():
    """Three nodes and a model are enough; the first line may be a title, and the file gives the name."""
    n = read_spice("Counter stage of the flasher\nm1 y a vdd p\nm2 y a gnd n\nV1 vdd 0 5\n", "notes/stage.sp")
    assert n.text() == "netlist stage\nports \nnmos m2 gate=a ends=gnd,y\npmos m1 gate=a ends=vdd,y\n"


def test_a_first_line_that_is_a_device_is_no_title():
    """A list of transistors jotted down without a title line loses none of them."""
    n = read_spice("mload vdd out out nmosd\nm2 out in gnd nmos", "f.sp")
    assert n.text() == "netlist f\nports \nnmos m2 gate=in ends=gnd,out\nnmosd mload gate=out ends=out,vdd\n"


def test_a_model_card_with_its_threshold_on_the_wrong_side_is_a_depletion_transistor():
    """VTO below 0 for n, above 0 for p (sign convention of SPICE's MOS models; from memory)."""
    text = "M1 v o o load\nM2 o i g drive\nM3 v o o up\n"
    text += ".model load nmos vto=-2.5\n.model drive nmos vto=0.8\n.model up pmos vto=1.5"
    assert [t.model for t in read_spice(text, "f.sp").transistors] == ["nmosd", "nmos", "pmosd"]


def test_instances_are_opened_and_their_names_lead_with_the_instance():
    """Inner nets and devices are named after the instance; ports take the outer net; globals stay as they are."""
    text = """
    .global gnd
    .subckt buf a y vdd
    X1 a m vdd inv
    X2 m y vdd / inv
    .ends
    .subckt inv i o v
    M1 o i v pmos
    M2 o i s nmos
    M3 s v gnd nmos
    .ends
    """
    assert read_spice(text, "f.sp").text() == (
        "netlist buf\nports a y vdd\n"
        "nmos X1.M2 gate=a ends=X1.s,m\n"
        "nmos X1.M3 gate=vdd ends=X1.s,gnd\n"
        "nmos X2.M2 gate=m ends=X2.s,y\n"
        "nmos X2.M3 gate=vdd ends=X2.s,gnd\n"
        "pmos X1.M1 gate=a ends=m,vdd\n"
        "pmos X2.M1 gate=m ends=vdd,y\n"
    )
    assert read_spice(text, "f.sp", subckt="INV").ports == ("i", "o", "v")


def test_m_and_nf_count_fingers():
    """`m` multiplies the width (SPICE), `nf` divides a width that is the whole (BSIM4 manual; from memory)."""
    n = read_spice("M1 y a g nmos W=0.65u m=4\nM2 y a g nmos W=2.6u nf=4", "f.sp")
    assert [(t.width, t.fingers) for t in n.transistors] == [(2600, 4), (2600, 4)]


def test_other_devices_are_elements():
    """Resistors, capacitors and diodes are kept as elements with their values."""
    text = (
        "R1 a b 4.7k\nR2 a b sky130_fd_pr__res_generic_po w=480000u l=45000u\nC1 b 0 10f\nD1 0 a dio area=2\nXD 0 a dio"
    )
    assert read_spice(text, "f.sp").text() == (
        "netlist f\nports \n"
        "capacitor C1  b,0 C=10f\n"
        "diode D1 dio 0,a AREA=2\n"
        "diode XD dio 0,a\n"
        "resistor R1  a,b R=4.7k\n"
        "resistor R2 sky130_fd_pr__res_generic_po a,b W=0.48u L=0.045u\n"
    )


def test_metal_resistors_and_shorts_join_their_nets():
    """CDL writes drawn wires as resistors so that they can carry a name; the port's name stays."""
    text = """.SUBCKT probe A X
    *.PININFO A:I X:O
    MN0 net1 A net2 nfet_01v8
    rI1 net1 X short
    rI2 net2 net3 sky130_fd_pr__res_generic_m5
    MN1 net3 A net4 nfet_01v8
    .ENDS
    """
    n = read_spice(text, "f.cdl")
    assert n.text() == "netlist probe\nports A X\nnmos MN0 gate=A ends=X,net2\nnmos MN1 gate=A ends=net2,net4\n"
