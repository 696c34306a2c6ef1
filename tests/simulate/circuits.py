"""Short ways to write netlists in tests."""

from layoutdrill.netlist.spice import read_spice


def circuit(ports, *lines, name="test"):
    """
    Return a netlist. A line is `n gate end end`, `p gate end end` or `d gate end end` (n depletion), with an optional
    size `L/W`.
    """
    cards = [f".subckt {name} {ports}"]
    for i, line in enumerate(lines):
        kind, gate, a, b, *size = line.split()
        model = {"n": "nmos", "p": "pmos", "d": "nmosd"}[kind]
        shape = ""
        if size:
            length, width = size[0].split("/")
            shape = f" L={length}u W={width}u"
        cards.append(f"M{i + 1} {a} {gate} {b} {model}{shape}")
    return read_spice("\n".join([*cards, ".ends", ""]), name)


def inverter(a, y):
    return (f"n {a} VSS {y}", f"p {a} VDD {y}")


def gate(a, b, *on_off):
    on, off = on_off
    return (f"n {on} {a} {b}", f"p {off} {a} {b}")
