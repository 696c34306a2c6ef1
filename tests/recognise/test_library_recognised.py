"""
Every cell of the library, in every process that it fits, drawn, proved and extracted, is recognised by its own name.

The library's names and roles are written independently of recognition, which never sees them.
"""

from collections import Counter

import pytest

from layoutdrill.cells.library import library
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.roles import Role
from layoutdrill.process.load import load_process, process_names
from layoutdrill.prove.proof import proved
from layoutdrill.recognise.terms import canonical
from layoutdrill.recognise.whole import recognise

LARGEST = 24
"""Larger cells are recognised from their netlists here; drawing them is another test's business."""

PROCESSES = {name: load_process(name) for name in process_names() if name != "open-130nm"}
CASES = [
    (name, process)
    for name, cell in library().items()
    for process, made in PROCESSES.items()
    if cell.fits(made)
]  # fmt: skip

SAME = {("address", "input"), ("input", "reset")}
"""
Roles that a lone cell cannot tell: (the library's, what is seen). An address is an input until there are several; what
clears a marker when its word is taken is a reset like any other.
"""


def own_names(cell):
    """Return the cell's structure and listed equivalents, in canonical terms as well."""
    names = {cell.structure, *cell.aliases}
    return names | {c for n in names if (c := canonical(n))}


def fingers(netlist):
    """Return the most fingers of any transistor, drawn apart or counted as one."""
    apart = Counter((t.gate, t.ends, t.kind) for t in netlist.transistors)
    return max(*apart.values(), *(t.fingers for t in netlist.transistors))


def base_of(seen, name):
    """Return the port that is seen as the complement of `name`: which of the two comes first cannot be told."""
    return next((p.net for p in seen.values() if p.complement_of == name), None)


def roles_differ(cell, found):
    seen = {p.net: p for p in found.ports if p.role is not Role.SUPPLY}
    for port in cell.ports:
        other = seen.get(port.name)
        if other is None:
            yield f"{port.name} is not seen"
        elif str(other.role) != str(port.role) and (str(port.role), str(other.role)) not in SAME:
            yield f"{port.name} is {other.role} and not {port.role}"
        elif port.complement_of and port.complement_of not in (other.complement_of, base_of(seen, port.name)):
            yield f"{port.name} is not seen as the complement of {port.complement_of}"


@pytest.mark.parametrize(("name", "process"), CASES)
def test_netlists_are_recognised(name, process):
    """The cell's netlist is called by the cell's name or a listed equivalent, each port by its role."""
    cell = library()[name]
    found = recognise(cell.netlist(PROCESSES[process]))
    assert set(found.names) & own_names(cell), found.names
    assert list(roles_differ(cell, found)) == []
    assert found.leftover == ()


@pytest.mark.parametrize("process", PROCESSES)
def test_drawings_are_recognised(process):
    """So is what the extractor reads in a proved drawing of it, where nets inside have other names."""
    made = PROCESSES[process]
    seen = 0
    for name, fits in CASES:
        cell = library()[name]
        if fits != process or len(cell.netlist(made).transistors) > LARGEST:
            continue
        try:
            drawing = proved(cell.netlist(made), made, seed=len(name))
        except LayoutdrillError as error:
            pytest.fail(f"not drawn: {error}")
        if fingers(drawing.cell) < min(4, fingers(cell.netlist(made))):
            continue  # drawn without its fingers, which its name rests on
        found = recognise(drawing.cell)
        assert set(found.names) & own_names(cell), (name, found.names)
        assert list(roles_differ(cell, found)) == [], name
        seen += 1
    assert seen >= 10
