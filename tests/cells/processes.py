"""Processes of one kind of transistor, as small as will build a netlist: nothing is drawn in them here."""

from layoutdrill.cells import Style, load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.process import load_process

NMOS = """
name: loads-n
title: n transistors with depletion loads
about: for tests
grid: {nm: 1250, per_lambda: 2}
layers:
  active: {title: diffusion, role: active}
  implant: {title: implant, role: implant}
  poly: {title: poly, role: poly}
  metal: {title: metal, role: metal}
  contact: {title: contact, role: contact}
regions:
  gate: active & poly
  enhancement: gate - implant
  depletion: gate & implant
  ndiff: active - gate
conductors: {metal: [metal], poly: [poly], ndiff: }
cuts:
  - {layer: contact, upper: metal, lower: [poly, ndiff]}
transistors:
  - {kind: n, channel: enhancement, gate: poly, ends: ndiff}
  - {kind: n, mode: depletion, channel: depletion, gate: poly, ends: ndiff}
"""

PMOS = """
name: loads-p
title: p transistors with enhancement loads
about: for tests
grid: {nm: 3000, per_lambda: 2}
supplies: [VDD, VSS]
layers:
  pplus: {title: diffusion, role: p-doping}
  window: {title: window, role: thin-oxide}
  metal: {title: metal, role: metal}
  contact: {title: contact, role: contact}
regions:
  pchannel: window & metal - pplus
conductors: {metal: [metal], pplus: }
cuts:
  - {layer: contact, upper: metal, lower: [pplus]}
transistors:
  - {kind: p, channel: pchannel, gate: metal, ends: pplus}
"""


def made(folder, text):
    """Return a process read from its text."""
    path = folder / "process.yaml"
    path.write_text(text)
    return load_process(str(path))


CMOS = "complementary"
TEXTS = {CMOS: "", "nmos": NMOS, "pmos": PMOS}

STYLES = {CMOS: Style.COMPLEMENTARY, "nmos": Style.DEPLETION_LOAD, "pmos": Style.ENHANCEMENT_LOAD}

FITTING = [
    (name, kind)
    for name in array_names()
    for kind, style in STYLES.items()
    if style in load_cell(name).netlists and not load_cell(name).only
]
ABUTTING = [(name, kind) for name, kind in FITTING if not name.startswith("gate_array")]
"""Arrays whose tiles join by their edges; the bases of a gate array are joined in channels."""
