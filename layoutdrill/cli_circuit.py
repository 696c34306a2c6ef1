"""The words of `layoutdrill simulate` and `layoutdrill export`, from words to rooms."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from layoutdrill.errors import LayoutdrillError, Where, plural

if TYPE_CHECKING:
    from layoutdrill.simulate.damage import Damage

Run = Callable[[argparse.Namespace], int]
Add = Callable[[str, str, Run], argparse.ArgumentParser]


def add_commands(add: Add) -> None:
    """Add each command by `add(name, text, run)`."""
    trial = add("simulate", "Run a netlist through a stimulus, whole or damaged.", _simulate)
    trial.add_argument("file", type=Path, metavar="FILE.sp")
    trial.add_argument("--stimulus", type=Path, required=True, metavar="FILE", help="vectors and clocks, YAML or CSV")
    trial.add_argument("--cell", metavar="NAME", help="which circuit of a file that holds several")
    trial.add_argument("-o", "--output", type=Path, metavar="FILE", help="write the run as .csv or .vcd")
    trial.add_argument("--cut", action="append", default=[], metavar="NET[:DEVICE]", help="what if this net is cut")
    trial.add_argument("--short", action="append", default=[], nargs=2, metavar="NET", help="… these two are shorted")
    trial.add_argument("--remove", action="append", default=[], metavar="DEVICE", help="… this device is not there")
    trial.add_argument(
        "--stuck", action="append", default=[], nargs=2, metavar=("NET", "LEVEL"), help="… this net is held at 0 or 1"
    )

    out = add("export", "Write a netlist's structures as hierarchical SPICE, Verilog, or a schematic.", _export)
    out.add_argument("file", type=Path, metavar="FILE.sp")
    out.add_argument("--cell", metavar="NAME", help="which circuit of a file that holds several")
    out.add_argument("-o", "--output", type=Path, required=True, metavar="FILE", help=".sp, .v or .svg")


def _export(options: argparse.Namespace) -> int:
    from layoutdrill.export.hierarchy import hierarchy
    from layoutdrill.export.schematic import schematic_svg
    from layoutdrill.export.spice import spice_text
    from layoutdrill.export.verilog import verilog_text
    from layoutdrill.netlist.spice import read_spice_file
    from layoutdrill.reading.busy import busy
    from layoutdrill.reading.ports import with_ports
    from layoutdrill.recognise.whole import recognise

    forms = {".sp": spice_text, ".spi": spice_text, ".spice": spice_text, ".v": verilog_text, ".svg": schematic_svg}
    form = forms.get(options.output.suffix.lower())
    if form is None:
        where = Where(str(options.output))
        raise LayoutdrillError("no form is called so", where=where, todo="end its name with .sp, .v or .svg")
    with busy(f"reading {options.file.name}"):
        circuit = hierarchy(recognise(with_ports(read_spice_file(options.file, subckt=options.cell))))
        text = form(circuit)
    _write(options.output, text)
    kinds, places = len(circuit.blocks) - 1, len(circuit.top.places)
    print(f"wrote {options.output}: {plural(kinds, 'kind')} of block, {plural(places, 'place')} at the top")
    return 0


def _simulate(options: argparse.Namespace) -> int:
    from layoutdrill.netlist.spice import read_spice_file
    from layoutdrill.reading.busy import busy
    from layoutdrill.simulate.stimulus import read_stimulus
    from layoutdrill.simulate.trace import run
    from layoutdrill.simulate.waves import csv_text, table_text, vcd_text

    forms = {".csv": csv_text, ".vcd": vcd_text}
    if options.output is not None and options.output.suffix.lower() not in forms:
        where = Where(str(options.output))
        raise LayoutdrillError("no waveform file is called so", where=where, todo="end its name with .csv or .vcd")
    netlist = read_spice_file(options.file, subckt=options.cell)
    stimulus = read_stimulus(options.stimulus, netlist)
    damage = _damage(options)
    with busy(f"simulating {options.file.name}"):
        if damage is None:
            trace = run(netlist, stimulus)
            text = table_text(trace)
        else:
            from layoutdrill.simulate.damage import changes_text, what_if

            _, trace, changes = what_if(netlist, stimulus, damage)
            text = table_text(trace) + changes_text(damage, changes, len(trace.rows))
    sys.stdout.write(text)
    if options.output is not None:
        _write(options.output, forms[options.output.suffix.lower()](trace))
    return 1 if trace.failures else 0


def _damage(options: argparse.Namespace) -> "Damage | None":
    if not (options.cut or options.short or options.remove or options.stuck):
        return None
    from layoutdrill.simulate.damage import Damage

    for net, level in options.stuck:
        if level not in ("0", "1"):
            raise LayoutdrillError(f'{net} cannot be stuck at "{level}"', todo="give 0 or 1")
    shorts = tuple((a, b) for a, b in options.short)
    stuck = tuple((net, level) for net, level in options.stuck)
    return Damage(tuple(options.cut), shorts, tuple(options.remove), stuck)


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        raise LayoutdrillError(f"cannot be written ({error.strerror})", where=Where(str(path))) from None
