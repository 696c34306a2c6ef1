"""
Run the functional Verilog of the open kit: gate primitives, and user-defined primitives from their own tables.

Follows IEEE Std 1364: clause 7 (gates and their four-value tables) and clause 8 (user-defined primitives).
Values are "0", "1", "x", "z".
"""

import re
from dataclasses import dataclass, field


def plain(text: str) -> str:
    """Drop comments and compiler directives."""
    text = re.sub(r"/\*.*?\*/|//[^\n]*", "", text, flags=re.DOTALL)
    return re.sub(r"`UNIT_DELAY|^\s*`.*$", "", text, flags=re.MULTILINE)


@dataclass
class Udp:
    """A user-defined primitive: rows of input symbols, state symbol ("" if combinational) and output symbol."""

    name: str
    rows: list[tuple[list[str], str, str]]

    @property
    def sequential(self) -> bool:
        return bool(self.rows[0][1])

    def level(self, values: list[str], state: str) -> str | None:
        for symbols, held, out in self.rows:
            if any(len(s) > 1 or s in "*rfpn" for s in symbols):
                continue
            if all(_fits(s, v) for s, v in zip(symbols, values, strict=True)) and (not held or _fits(held, state)):
                return state if out == "-" else out
        return None

    def edge(self, values: list[str], place: int, old: str, state: str) -> str:
        found = self.level(values, state)
        if found is not None:
            return found
        for symbols, held, out in self.rows:
            if not _edge_fits(symbols[place], old, values[place]):
                continue
            others = all(_fits(s, v) for i, (s, v) in enumerate(zip(symbols, values, strict=True)) if i != place)
            if others and _fits(held, state):
                return state if out == "-" else out
        return "x"


def _fits(symbol: str, value: str) -> bool:
    if symbol == "?":
        return True
    if symbol == "b":
        return value in "01"
    return symbol.lower() == (value if value in "01" else "x")


def _edge_fits(symbol: str, old: str, new: str) -> bool:
    if symbol == "*":
        return True
    pair = {"r": ["01"], "f": ["10"], "p": ["01", "0x", "x1"], "n": ["10", "1x", "x0"]}.get(symbol)
    if pair is not None:
        return old + new in pair
    if symbol.startswith("("):
        return _fits(symbol[1], old) and _fits(symbol[2], new)
    return False


def parse_udp(text: str) -> Udp:
    text = plain(text)
    name = re.search(r"primitive\s+(\S+)", text)[1]
    rows = []
    for line in re.search(r"table(.*?)endtable", text, re.DOTALL)[1].split(";"):
        if not line.strip():
            continue
        parts = [p.split() for p in line.split(":")]
        rows.append((parts[0], parts[1][0] if len(parts) == 3 else "", parts[-1][0].lower()))
    return Udp(name, rows)


@dataclass
class Module:
    """A flat module of primitives; `run` sets inputs and settles."""

    name: str
    inputs: list[str]
    outputs: list[str]
    gates: list[tuple[str, list[str]]]
    udps: dict[str, Udp]
    values: dict[str, str] = field(default_factory=dict)
    seen: dict[int, list[str]] = field(default_factory=dict)

    def run(self, inputs: dict[str, str]) -> dict[str, str]:
        self.values.update(inputs)
        for _ in range(64):
            changed = False
            for i, (kind, nets) in enumerate(self.gates):
                ins = [self.values.get(n, "x") for n in nets[1:]]
                new = self._gate(i, kind, ins, self.values.get(nets[0], "x"))
                if new != self.values.get(nets[0], "x"):
                    self.values[nets[0]] = new
                    changed = True
            if not changed:
                return {o: self.values.get(o, "x") for o in self.outputs}
        raise AssertionError(f"{self.name} does not settle")

    def _gate(self, i: int, kind: str, ins: list[str], state: str) -> str:
        udp = self.udps.get(kind)
        if udp is None:
            return primitive(kind, ins)
        if not udp.sequential:
            found = udp.level(ins, "")
            return "x" if found is None else found
        old = self.seen.get(i, ["x"] * len(ins))
        current = list(old)
        for place, value in enumerate(ins):
            if value != current[place]:
                before, current[place] = current[place], value
                state = udp.edge(current, place, before, state)
        self.seen[i] = current
        return state


def primitive(kind: str, ins: list[str]) -> str:
    known = ["x" if v == "z" else v for v in ins]
    if kind in ("and", "nand"):
        out = "0" if "0" in known else "x" if "x" in known else "1"
    elif kind in ("or", "nor"):
        out = "1" if "1" in known else "x" if "x" in known else "0"
    elif kind in ("xor", "xnor"):
        out = "x" if "x" in known else str(known.count("1") % 2)
    elif kind in ("buf", "not"):
        out = known[0]
    elif kind in ("bufif0", "bufif1", "notif0", "notif1"):
        data, enable = known
        if enable == kind[-1]:
            return data if kind.startswith("buf") else {"0": "1", "1": "0"}.get(data, "x")
        return "z" if enable != "x" else "x"
    elif kind in ("pullup", "supply1"):
        return "1"
    elif kind in ("pulldown", "supply0"):
        return "0"
    else:
        raise KeyError(kind)
    if kind in ("nand", "nor", "xnor", "not"):
        return {"0": "1", "1": "0"}.get(out, "x")
    return out


def parse_module(text: str, udps: dict[str, Udp]) -> Module:
    """Read a module; raises KeyError for an instance of another module."""
    text = plain(text)
    body = re.search(r"module\s+(\S+)\s*(?:\(.*?\))?\s*;(.*?)endmodule", text, re.DOTALL)
    inputs, outputs, gates = [], [], []
    for statement in body[2].split(";"):
        words = statement.split()
        if not words or words[0] == "wire":
            continue
        if words[0] in ("input", "output"):
            (inputs if words[0] == "input" else outputs).extend(n.strip(",") for n in words[1:])
        elif words[0] in ("supply0", "supply1"):
            gates.append((words[0], [words[1]]))
        else:
            match = re.fullmatch(r"\s*(\S+)\s+(\w+)\s*\((.*)\)\s*", statement, re.DOTALL)
            gates.append((match[1], [n.strip() for n in match[3].split(",")]))
            if match[1] not in udps:
                primitive(match[1], ["x", "x"] if "if" in match[1] else ["x"])
    return Module(body[1], inputs, outputs, gates, udps)
