"""Name blocks, ports and inner nets as a person would: by what they are for, not by the nets of their first place."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port

MOST_PORTS = 9
"""A block of more ports that is placed once keeps the names of its nets."""
_SIZE = re.compile(r"(\d+(?: × \d+)?(?:-to-\d+|-[a-z]+)?) (.+)")
_ADDER = re.compile(r"sum (\S+) = .*?, carry (\S+) = ")
_STORES = ("latch", "register bit", "flip-flop", "memory cell", "counter", "divider", "register")
_STEMS = {Role.DATA: "d", Role.ENABLE: "en", Role.SELECT: "sel", Role.SET: "set", Role.RESET: "reset",
          Role.WORD_LINE: "word", Role.BIT_LINE: "bit"}  # fmt: skip
_LETTERS = "abcdefgh"


def block_name(term: str, taken: set[str]) -> str:
    """Return a free name for a block, an identifier of SPICE and Verilog: `nand2`, `static_ram_4x4`, `full_adder_2`."""
    sized = _SIZE.fullmatch(term)
    words = f"{sized[2]} {sized[1].replace(' × ', 'x')}" if sized else term
    stem = re.sub(r"[^a-z0-9]+", "_", words.lower()).strip("_") or "part"
    if stem[0].isdigit() or stem == "unknown_structure":
        stem = f"part_{stem}" if stem[0].isdigit() else "part"
    name, number = stem, 1
    while name in taken:
        number += 1
        name = f"{stem}_{number}"
    taken.add(name)
    return name


def port_names(term: str, function: str, ports: tuple[Port, ...], border: tuple[str, ...]) -> dict[str, str]:
    """
    Return what the nets at a block's border are called inside it: a, b … and y for a gate, d, clk, q for a store.

    A net whose opposite is there as well gets its name with `_n`.
    """
    roles = {port.net: port for port in ports}
    names: dict[str, str] = {}
    adder = _ADDER.search(function)
    for role in (*Role, None):
        nets = [n for n in border if (roles[n].role if n in roles else None) is role]
        plain = [n for n in nets if n not in roles or roles[n].complement_of not in border]
        if adder and role is Role.OUTPUT:
            names |= {net: name for net, name in zip(adder.groups(), ("s", "co"), strict=True) if net in plain}
        if adder and role is Role.INPUT and len(plain) == 3:
            names |= dict(zip(plain, ("a", "b", "ci"), strict=True))
        names |= _of_role(role, [n for n in plain if n not in names], term, names)
    for net in border:
        other = roles[net].complement_of if net in roles else None
        if net not in names and other in names:
            names[net] = f"{names[other]}_n"
    return _apart({net: names.get(net, "x") for net in border})


def _of_role(role: Role | None, nets: list[str], term: str, names: Mapping[str, str]) -> dict[str, str]:
    if len(nets) > 2 and role is not Role.INPUT:
        nets = sorted(nets, key=natural)
    if role in (Role.INPUT, Role.SIGNAL) and len(nets) <= len(_LETTERS):
        free = [letter for letter in _LETTERS if letter not in names.values()]
        return dict(zip(nets, free, strict=False))
    if role is Role.CLOCK:
        stem = "clk" if len(nets) == 1 else "phi"
    elif role is Role.OUTPUT:
        stem = "q" if any(term.endswith(words) for words in _STORES) else "y"
    elif role is Role.ADDRESS:
        return {net: f"a{at}" for at, net in enumerate(nets)}
    else:
        stem = _STEMS.get(role, "i") if role is not None else "x"
    return {net: stem if len(nets) == 1 else f"{stem}{at}" for at, net in enumerate(nets)}


def natural(name: str) -> list[tuple[int, str]]:
    """Return a key by which names are in order with their numbers counted: a2 before a10."""
    return [(int(part), "") if part.isdigit() else (-1, part) for part in re.split(r"(\d+)", name) if part]


def _apart(names: dict[str, str]) -> dict[str, str]:
    """Number names that are there twice."""
    count = Counter(names.values())
    at: Counter[str] = Counter()
    taken = set(names.values())
    result = {}
    for net, name in names.items():
        if count[name] > 1:
            while (free := f"{name}{at[name]}") in taken:
                at[name] += 1
            taken.add(free)
            result[net] = free
        else:
            result[net] = name
    return result


def inner_names(nets: Iterable[str], taken: set[str]) -> dict[str, str]:
    """Return n1, n2 … for the nets inside a block."""
    names = {}
    number = 0
    for net in nets:
        number += 1
        while f"n{number}" in taken:
            number += 1
        names[net] = f"n{number}"
    return names


def undotted(nets: Iterable[str], taken: set[str]) -> dict[str, str]:
    """Return names without dots for nets that have some."""
    names = {}
    for net in nets:
        stem = name = net.replace(".", "_")
        number = 1
        while name in taken:
            number += 1
            name = f"{stem}_{number}"
        taken.add(name)
        names[net] = name
    return names
