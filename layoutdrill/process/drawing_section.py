"""
Read the `drawing:` section: the family of a process, its mask layers by role, the rules that give lengths.

    drawing:
      family: metal gate, one kind
      layers: {metal: metal, diffusion: pplus, contact: contact, window: window}
      rules:
        metal: {width: metal.width, spacing: metal.spacing, past contact: contact.metal, past window: window.metal}

A length is named by the part that it belongs to and by what it is; its value is a key of the section `rules:`. Each
family says which layers and lengths it needs; no other code knows the name of a layer or of a rule.
"""

from collections.abc import Iterable, Mapping
from dataclasses import field
from enum import StrEnum

from layoutdrill.errors import Where
from layoutdrill.process.design_rules import DesignRule, RuleKind
from layoutdrill.units import GridUnits
from layoutdrill.value import value
from layoutdrill.yamldoc import Node


class Family(StrEnum):
    """The ways in which a drawing is made, by what gates are of and what stands against a driver."""

    SILICON_GATE = "silicon gate, complementary"
    SILICON_GATE_LOADS = "silicon gate, depletion loads"
    SILICON_GATE_ENHANCEMENT = "silicon gate, enhancement loads"
    ISLANDS = "metal gate, islands"
    GUARD_RINGS = "metal gate, guard rings"
    METAL_GATE_LOADS = "metal gate, one kind"


@value
class DrawingSection:
    """
    `layers` are mask layers by their role in a drawing; `lengths`, in grid units, the figures of the process's own
    rules by part and dimension, as ("metal", "width").
    """

    family: Family
    layers: Mapping[str, str]
    lengths: Mapping[tuple[str, str], GridUnits]
    where: Where

    def length(self, part: str, dimension: str) -> GridUnits:
        """Return a length in grid units."""
        return self.lengths[part, dimension]

    @property
    def channel(self) -> GridUnits:
        """Return the least length of a channel in grid units: under poly it is as long as the poly is wide."""
        own = self.lengths.get(("channel", "length"))
        return self.lengths["poly", "width"] if own is None else own


_ROLES = {
    "metal": ("metal",),
    "upper-metal": ("metal-2", "upper-metal"),
    "poly": ("poly",),
    "diffusion": ("active", "n-doping", "p-doping"),
    "n-doping": ("n-doping",),
    "p-doping": ("p-doping",),
    "n-well": ("well",),
    "p-well": ("well",),
    "window": ("thin-oxide",),
    "implant": ("implant",),
    "buried-contact": ("buried-contact",),
    "contact": ("contact",),
    "via": ("via",),
}
"""Roles in a drawing, and what the layer that plays each may be to a picture."""

_KINDS = {
    "width": (RuleKind.WIDTH,),
    "length": (RuleKind.WIDTH,),
    "overlap": (RuleKind.WIDTH,),
    "spacing": (RuleKind.SPACING,),
    "size": (RuleKind.SIZE,),
    "past": (RuleKind.ENCLOSURE, RuleKind.EXTENSION),
    "to": (RuleKind.SEPARATION,),
}
"""The first word of a dimension, and the forms of rule that may give it."""


@value
class _Needs:
    """What a family needs: layers, lengths by part; `either` are roles of which exactly one is played."""

    layers: tuple[str, ...]
    lengths: Mapping[str, tuple[str, ...]]
    either: tuple[str, ...] = ()
    more: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def lengths_with(self, layers: Iterable[str]) -> dict[tuple[str, str], None]:
        """Return the lengths that are needed with these layers, in order."""
        keys = dict.fromkeys((part, dimension) for part, own in self.lengths.items() for dimension in own)
        for role, own in self.more.items():
            if role in layers:
                keys |= dict.fromkeys((role, dimension) for dimension in own)
        return keys


_POLY = {
    "metal": ("width", "spacing", "past contact"),
    "poly": ("width", "spacing", "past contact", "past diffusion", "to diffusion"),
    "diffusion": ("width", "spacing", "past contact", "past gate"),
    "contact": ("size", "to gate"),
}
_BULK = {
    "metal": ("width", "spacing", "past contact", "past window"),
    "diffusion": ("width", "spacing", "past contact", "past window"),
    "window": ("width", "overlap of diffusion"),
    "contact": ("size", "to window"),
    "channel": ("length",),
}
_WELL = ("past diffusion", "past tap")
_NEEDS = {
    Family.SILICON_GATE: _Needs(
        layers=("metal", "poly", "diffusion", "n-doping", "p-doping", "contact"),
        lengths=_POLY | {"diffusion": (*_POLY["diffusion"], "to tap"), "n-doping": ("past diffusion",)},
        either=("n-well", "p-well"),
        more={
            "n-well": _WELL,
            "p-well": _WELL,
            "upper-metal": ("width", "spacing", "past via"),
            "via": ("size",),
        },
    ),
    Family.SILICON_GATE_LOADS: _Needs(
        layers=("metal", "poly", "diffusion", "implant", "buried-contact", "contact"),
        lengths=_POLY
        | {"implant": ("past gate",), "buried-contact": ("overlap of diffusion", "past overlap", "to gate")},
    ),
    Family.SILICON_GATE_ENHANCEMENT: _Needs(layers=("metal", "poly", "diffusion", "contact"), lengths=_POLY),
    Family.ISLANDS: _Needs(
        layers=("metal", "diffusion", "n-doping", "p-doping", "window", "contact"),
        lengths={
            "metal": ("width", "spacing", "past contact", "past window", "past channel"),
            "diffusion": ("width", "spacing", "past contact"),
            "n-doping": ("width", "past diffusion"),
            "window": ("past channel",),
            "contact": ("size",),
            "channel": ("length",),
        },
    ),
    Family.GUARD_RINGS: _Needs(
        layers=("metal", "n-doping", "p-doping", "p-well", "window", "contact"),
        lengths=_BULK
        | {
            "diffusion": (*_BULK["diffusion"], "to other diffusion"),
            "p-well": ("past ring", "to ring", "past diffusion", "to diffusion"),
        },
    ),
    Family.METAL_GATE_LOADS: _Needs(layers=("metal", "diffusion", "window", "contact"), lengths=_BULK),
}


def read_drawing(node: Node, layers: Mapping[str, str], rules: Mapping[str, DesignRule]) -> DrawingSection:
    """
    Read the section; `layers` are the process's mask layers with their roles to a picture.

    Raises LayoutdrillError, with its place, for a layer, length or rule that is unknown, missing or of the wrong kind.
    """
    fields = node.fields(("family", "layers", "rules"))
    family = Family(fields["family"].word([family.value for family in Family], "family"))
    needs = _NEEDS[family]
    masks = _layers(fields["layers"], needs, layers)
    return DrawingSection(family, masks, _lengths(fields["rules"], needs.lengths_with(masks), rules), node.where)


def _layers(node: Node, needs: _Needs, layers: Mapping[str, str]) -> dict[str, str]:
    more = tuple(role for role in needs.more if role not in needs.layers)
    fields = node.fields(needs.layers, more)
    masks = {}
    for role, item in fields.items():
        masks[role] = mask = item.word(tuple(layers), "layer")
        if layers[mask] not in _ROLES[role]:
            item.fail(
                f'layer "{mask}" has the role {layers[mask]}, and cannot be drawn as {role}',
                f"name a layer with the role {' or '.join(_ROLES[role])}",
            )
    if needs.either and sum(role in masks for role in needs.either) != 1:
        node.fail(f"one of {' and '.join(needs.either)} expected", "name the well that the process has")
    for role, partner in (("upper-metal", "via"), ("via", "upper-metal")):
        if role in masks and partner not in masks:
            node.fail(f"{role} goes with {partner}, which is missing", f'add "{partner}: …"')
    return masks


def _lengths(
    node: Node, needed: Mapping[tuple[str, str], None], rules: Mapping[str, DesignRule]
) -> dict[tuple[str, str], int]:
    parts: dict[str, tuple[str, ...]] = {}
    for part, dimension in needed:
        parts[part] = (*parts.get(part, ()), dimension)
    lengths = {}
    for part, item in node.fields(tuple(parts)).items():
        for dimension, key in item.fields(parts[part]).items():
            rule = rules[key.word(tuple(rules), "rule")]
            kinds = _KINDS[dimension.partition(" ")[0]]
            if rule.kind not in kinds:
                key.fail(
                    f'rule "{rule.name}" is of the form {rule.kind}, and cannot give “{part}: {dimension}”',
                    f"name a rule of the form {' or '.join(kinds)}",
                )
            lengths[part, dimension] = rule.value
    return lengths
