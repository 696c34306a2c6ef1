"""
Turn a process into a plan of extraction: which materials there are, and what happens where two of them meet.

A material is a conductor, a channel region or the body of an element. Every region is computed from the layers of
its expression, but only inside its *guard*: a mask layer without which the expression is false.
"""

from collections.abc import Callable
from functools import lru_cache
from itertools import product

from layoutdrill.errors import LayoutdrillError
from layoutdrill.process.expression import Expression, Name, names_in
from layoutdrill.process.model import Process
from layoutdrill.value import value

NOTHING, JOIN, ABUT, JUNCTION = range(4)
"""What it means that two materials touch."""

MAX_LAYERS = 14
"""A region's expression is tried on every combination of its layers."""


@value
class Group:
    """
    Regions computed together, inside the mask layer `guard` (None: inside any of `layers`).

    `layers` give the bits of a cover mask, `regions` the materials and their tests on such a mask,
    `gates` the masks at which one expects a channel: the guard under a gate. `silicon` tells that the guard is
    an active layer, of which every piece should be some region.
    """

    guard: str | None
    layers: tuple[str, ...]
    regions: tuple[tuple[int, Callable[[int], bool]], ...]
    gates: tuple[int, ...]
    silicon: bool


@value
class Plan:
    """
    `materials` are names; `plain` those that are mask layers themselves; `families` are sets of materials to be
    swept together, `action[a][b]` what to do where two of one family touch, `inners` the channels and bodies,
    `doping` "n", "p" or "", `layers` all mask layers that count.
    """

    materials: tuple[str, ...]
    plain: tuple[tuple[int, str], ...]
    groups: tuple[Group, ...]
    families: tuple[tuple[int, ...], ...]
    action: tuple[tuple[int, ...], ...]
    inners: frozenset[int]
    doping: tuple[str, ...]
    layers: tuple[str, ...]

    def index(self, name: str) -> int:
        return self.materials.index(name)


@lru_cache(maxsize=16)
def plan_for(process: Process) -> Plan:
    names = list(process.conductors)
    channels = [rule.channel for rule in process.transistors]
    bodies = [rule.body for rule in process.elements]
    computed = tuple(dict.fromkeys([n for n in names if n != "substrate"] + channels + bodies))
    strips = tuple(dict.fromkeys(strip_name(rule.of) for rule in process.strips))
    materials = computed + strips
    tests = {name: _Test(process, name) for name in computed}
    plain = tuple((i, name) for i, name in enumerate(materials) if name in process.layers)
    groups = _groups(process, computed, tests)
    action = _actions(process, materials, tests)
    inside = (*channels, *bodies, *strips)
    inners = frozenset(materials.index(name) for name in inside if name not in process.conductors)
    doping = tuple(tests[name].doping if name in tests else "" for name in materials)
    used = {layer for test in tests.values() for layer in test.layers} | {cut.layer for cut in process.cuts}
    layers = tuple(layer for layer in process.layers if layer in used)
    return Plan(materials, plain, groups, _families(len(materials), action), action, inners, doping, layers)


def strip_name(conductor: str) -> str:
    """Return the name of the material of resistors that are strips of a conductor."""
    return f"{conductor} strip"


class _Test:
    """A region as a test over mask layers, with the layers that it cannot do without."""

    def __init__(self, process: Process, name: str) -> None:
        self.expression = _expanded(Name(name), process)
        self.layers = tuple(dict.fromkeys(names_in(self.expression)))
        if len(self.layers) > MAX_LAYERS:
            raise LayoutdrillError(
                f'region "{name}" is built from {len(self.layers)} layers',
                where=process.where,
                todo=f"use {MAX_LAYERS} or fewer",
            )
        true = [
            {layer for layer, on in zip(self.layers, bits, strict=True) if on}
            for bits in product((False, True), repeat=len(self.layers))
            if _value(self.expression, {layer for layer, on in zip(self.layers, bits, strict=True) if on})
        ]
        self.guards = tuple(layer for layer in self.layers if true and all(layer in on for on in true))
        n_layers = {layer for layer in self.layers if process.layers[layer].role == "n-doping"}
        p_layers = {layer for layer in self.layers if process.layers[layer].role == "p-doping"}
        self.doping = ""
        if true and n_layers and all(on & n_layers for on in true):
            self.doping = "n"
        elif true and p_layers and all(on & p_layers for on in true):
            self.doping = "p"

    def over(self, layers: tuple[str, ...]) -> Callable[[int], bool]:
        bits = {layer: 1 << at for at, layer in enumerate(layers)}
        return lambda mask: _value(self.expression, {layer for layer, bit in bits.items() if mask & bit})


def _expanded(expression: Expression, process: Process) -> Expression:
    if isinstance(expression, Name):
        inner = process.regions.get(expression.name)
        return expression if inner is None else _expanded(inner, process)
    return type(expression)(
        expression.operator, _expanded(expression.left, process), _expanded(expression.right, process)
    )


def _value(expression: Expression, on: set[str]) -> bool:
    if isinstance(expression, Name):
        return expression.name in on
    left = _value(expression.left, on)
    if expression.operator == "|":
        return left or _value(expression.right, on)
    if not left:
        return False
    return _value(expression.right, on) == (expression.operator == "&")


def _groups(process: Process, materials: tuple[str, ...], tests: dict[str, _Test]) -> tuple[Group, ...]:
    votes: dict[str, int] = {}
    regions = [name for name in materials if name not in process.layers]
    for name in regions:
        for layer in tests[name].guards:
            votes[layer] = votes.get(layer, 0) + 1
    chosen: dict[str | None, list[str]] = {}
    for name in regions:
        guards = sorted(tests[name].guards, key=lambda layer: (-votes[layer], list(process.layers).index(layer)))
        chosen.setdefault(guards[0] if guards else None, []).append(name)
    groups = []
    for guard, members in chosen.items():
        layers = tuple(dict.fromkeys(layer for name in members for layer in tests[name].layers))
        if guard is not None:
            layers = (guard, *(layer for layer in layers if layer != guard))
        regions_in = tuple((materials.index(name), tests[name].over(layers)) for name in members)
        needed = {
            frozenset(tests[rule.gate].guards)
            for rule in process.transistors
            if guard is not None and process.layers[guard].role == "active" and rule.channel in members
        }
        gates = tuple(
            sum(1 << layers.index(layer) for layer in gate | {guard}) for gate in needed if gate and gate <= set(layers)
        )
        silicon = guard is not None and process.layers[guard].role == "active"
        groups.append(Group(guard, layers, regions_in, gates, silicon))
    return tuple(groups)


def _actions(process: Process, materials: tuple[str, ...], tests: dict[str, _Test]) -> tuple[tuple[int, ...], ...]:
    size = len(materials)
    table = [[NOTHING] * size for _ in range(size)]
    for i in range(size):
        table[i][i] = JOIN
    conductors = [name for name in materials if name in process.conductors]
    for a in conductors:
        for b in conductors:
            if a != b and tests[a].doping and tests[b].doping:
                same = tests[a].doping == tests[b].doping
                table[materials.index(a)][materials.index(b)] = JOIN if same else JUNCTION
    regions = {rule.channel for rule in process.transistors}
    ends = {rule.ends for rule in process.transistors}
    pairs = [(a, b) for a in regions for b in ends]
    pairs += [(rule.body, rule.ends) for rule in process.elements if rule.kind == "resistor"]
    for a, b in pairs:
        i, j = materials.index(a), materials.index(b)
        table[i][j] = table[j][i] = ABUT
    return tuple(tuple(row) for row in table)


def _families(size: int, action: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
    family = list(range(size))
    for i in range(size):
        for j in range(i):
            if action[i][j] != NOTHING and family[i] != family[j]:
                old, new = family[i], family[j]
                family = [new if f == old else f for f in family]
    return tuple(tuple(i for i in range(size) if family[i] == f) for f in dict.fromkeys(family))
