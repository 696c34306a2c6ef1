"""Explain a netlist or a layout: what it is, structure by structure, what it does, and where it may be misread."""

from dataclasses import replace
from pathlib import Path
from time import process_time

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.netlist.model import Kind, Mode, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.netlist.spice import NETLIST_FILES, read_spice_file
from layoutdrill.photo.read import SUFFIX
from layoutdrill.process import Process
from layoutdrill.process.load import load_process
from layoutdrill.reading.behaving import doings
from layoutdrill.reading.explanation import Counts, Explanation
from layoutdrill.reading.notes import NONE, Notes, notes_beside, read_notes
from layoutdrill.reading.ports import told_ports, with_more_ports, with_ports
from layoutdrill.reading.slips import Scene, Slip, slips_in
from layoutdrill.recognise.heading import heading
from layoutdrill.recognise.model import Recognition
from layoutdrill.recognise.view import View
from layoutdrill.recognise.whole import seen
from layoutdrill.simulate.effort import bounded

SECONDS, LEAST = 1.6, 0.4
"""So long is worked on a reading, unless more is asked for, and at least so long on what the circuit does."""
LAYOUT_FILES = (".gds", ".gdsii", ".gds2", ".oas")


def explain_netlist(
    netlist: Netlist,
    notes: Notes = NONE,
    *,
    thorough: bool = False,
    drawn: bool = False,
    process: Process | None = None,
) -> Explanation:
    """
    Return what is found out about a netlist; one without ports is given its likely ones, and says so.

    What would take more than a second or so to work out is left and told, unless `thorough`. `drawn` says that the
    netlist comes from a layout, in which nothing is written twice. The rails of a known `process` are the supplies
    where the notes name none, whatever they are called.
    """
    began = process_time()
    with bounded(len(netlist.transistors), thorough=thorough) as effort:
        view, recognition, remarks, slips, accepted = _read(netlist, notes, process, drawn=drawn)
    netlist = recognition.netlist
    counts = Counts(
        netlist.count(Kind.N),
        netlist.count(Kind.P),
        sum(1 for t in netlist.transistors if t.mode is Mode.DEPLETION),
        sum(t.fingers for t in netlist.transistors),
        len(netlist.nets),
        len(netlist.elements),
    )
    if not netlist.transistors:
        remarks.append("there are no transistors")
    recognition = _drained(recognition, frozenset(map(notes.called, notes.open_drain)))
    left = max(LEAST, SECONDS - (process_time() - began))
    done = doings(view, recognition, None if thorough else left)
    remarks += done.remarks
    return Explanation(
        netlist, recognition, counts, done.functions, done.behaviour, done.stores, done.table, done.poor, slips,
        tuple(remarks), apart=done.apart, undone=(*effort.undone, *done.undone), tables=done.tables, accepted=accepted,
        notes=notes, thorough=thorough, unconfirmed=done.unconfirmed,
    )  # fmt: skip


def _read(
    netlist: Netlist, notes: Notes, process: Process | None, *, drawn: bool
) -> tuple[View, Recognition, list[str], tuple[Slip, ...], tuple[tuple[Slip, str], ...]]:
    """Return what a netlist was seen as and recognised as, remarks, the slips, and those that the notes accept."""
    netlist = notes.named(netlist)
    rails = notes.rails() or _rails_of(process, netlist)
    view, recognition = seen(with_ports(netlist), rails)
    remarks = []
    if recognition.netlist is not netlist:
        more = with_more_ports(recognition)
        if more is not recognition.netlist:
            view, recognition = seen(more, rails)
        remarks.append(told_ports(recognition.netlist))
    dynamic, open_drain, clocks = (
        frozenset(map(notes.called, nets)) for nets in (notes.dynamic, notes.open_drain, notes.clocks)
    )
    slips, accepted = notes.sorted_out(slips_in(Scene(view, recognition, dynamic, open_drain, clocks, drawn)))
    return view, recognition, remarks, slips, accepted


def _drained(recognition: Recognition, nets: frozenset[str]) -> Recognition:
    """Return a recognition in which what pulls a net that the reader notes as an open drain is called so."""
    named = {"pull-down", "pull-up"}
    structures = tuple(
        replace(s, term="open-drain output", also=(s.term, *s.also))
        if s.term in named and nets & set(s.nets(Role.OUTPUT)) else s
        for s in recognition.structures
    )  # fmt: skip
    if structures == recognition.structures:
        return recognition
    term = "open-drain output" if recognition.term in named else recognition.term
    by_parts = recognition.heading in (heading(recognition.structures), recognition.term)
    head = heading(structures) if by_parts else recognition.heading
    return replace(recognition, structures=structures, term=term, heading=head)


def _rails_of(process: Process | None, netlist: Netlist) -> dict[str, int] | None:
    """Return the levels of a process's rails; None where the process is not known or its two rails are not there."""
    if process is None or not set(process.supplies) <= set(netlist.nets):
        return None
    return {net: level for net, level in process.rail_levels.items() if net in netlist.nets}


def explain_file(
    path: Path,
    process: str | None = None,
    cell: str | None = None,
    notes: Path | None = None,
    *,
    thorough: bool = False,
) -> Explanation:
    """
    Read a SPICE, GDSII or mark file and explain it. A layout needs the name of its process.

    `cell` picks one of several, of a mark file a region.

    `notes` is the reader's side file; where none is given, the one beside the file is taken if there is one.

    Raises LayoutdrillError for a file that cannot be read, and says what to give.
    """
    kind = path.suffix.lower()
    if path.name.endswith(SUFFIX):
        return _explain_photograph(path, cell or "", notes, thorough=thorough)
    if kind in NETLIST_FILES:
        netlist = read_spice_file(path, subckt=cell)
        return explain_netlist(netlist, _side(path, notes, netlist), thorough=thorough)
    if kind in LAYOUT_FILES:
        return _explain_layout(path, process, cell, notes, thorough=thorough)
    raise LayoutdrillError(
        f'"{path.suffix or path.name}" is no known kind of file',
        where=Where(str(path)),
        todo=f"give a netlist ({', '.join(NETLIST_FILES)}), a layout ({', '.join(LAYOUT_FILES)}) or marks ({SUFFIX})",
    )


def _side(path: Path, notes: Path | None, netlist: Netlist) -> Notes:
    """Return the notes given, or those beside a file, or none."""
    if notes is None and notes_beside(path).is_file():
        notes = notes_beside(path)
    return read_notes(notes, netlist) if notes is not None else NONE


def _explain_photograph(path: Path, region: str, notes: Path | None, *, thorough: bool) -> Explanation:
    """Explain the marks of a file, or of one of its regions; slips are told with their places on the photograph."""
    from layoutdrill.reading.photograph import compared, photograph_at, told_at  # noqa: PLC0415 - most files are none

    face = photograph_at(path, region)
    netlist = face.netlist
    own = read_notes(notes, netlist) if notes else NONE
    places = {t.name: told_at(face, t.name) for t in netlist.transistors}
    explained = explain_netlist(
        netlist, replace(own, places={**places, **own.places}), thorough=thorough, drawn=True, process=face.process
    )
    remarks = (*explained.remarks, *compared(path, face))
    return replace(explained, extraction=face.extraction, process=face.process, face=face, remarks=remarks)


def _explain_layout(
    path: Path, process: str | None, cell: str | None, notes: Path | None, *, thorough: bool
) -> Explanation:
    from layoutdrill.extract import extract  # noqa: PLC0415 - a netlist has no layout
    from layoutdrill.layout.files import read_layout  # noqa: PLC0415 - a netlist has no layout

    if process is None:
        raise LayoutdrillError("a layout needs its process", where=Where(str(path)), todo="add --process NAME")
    made = load_process(process)
    layout = read_layout(path, made, cell)
    extraction = extract(layout, made)
    side = _side(path, notes, extraction.netlist)
    explained = explain_netlist(extraction.netlist, side, thorough=thorough, drawn=True, process=made)
    return replace(explained, layout=layout, extraction=extraction, process=made)


__all__ = ["Counts", "Explanation", "Slip", "explain_file", "explain_netlist"]
