"""
Films for a process that states none: those common to its family, found from the roles of its layers.

Thicknesses in nm are common practice of the time, chosen so that what meets stands apart in brightness.
"""

from layoutdrill.errors import LayoutdrillError
from layoutdrill.process.model import SUBSTRATE, Process
from layoutdrill.process.terms import Kind

SILICON_GATE = """
base: silicon
surface: conformal
vary: 0.04
places:
  - {name: contact to poly, where: "{contact} & {poly}", films: [oxide 600, poly 410], height: 760, metal_shade: 0.55}
  - {name: contact, where: "{contact} & {active}", films: [], metal_shade: 0.55}
  - {name: buried contact, where: "{buried-contact} & {poly} & {active}", films: [poly 410, oxide 300], shade: 0.36}
  - {name: gate, where: "{active} & {poly}", films: [oxide 70, poly 410, oxide 300], height: 780, shade: 0.45}
  - {name: poly, where: "{poly}", films: [oxide 610, poly 410, oxide 300], height: 1080, shade: 0.45}
  - {name: p+ active, where: "{active} & {p-doping}", films: [oxide 400], height: 330}
  - {name: n+ active, where: "{active}", films: [oxide 480], height: 350}
  - {name: well field, where: "{well}", films: [oxide 860], height: 560, fades: field}
  - {name: field, films: [oxide 910], height: 640}
apart: [[gate, n+ active], [gate, p+ active], [poly, field], [n+ active, field], \
[buried contact, n+ active], [n+ active, p+ active]]
either: [[n+ active, p+ active]]
junctions:
  - {name: well, where: "{well}", kind: "{well kind}", nm: 3500, source: common practice (wells of 3 to 4 µm)}
  - {name: n+ diffusion, where: "{active} - {poly}", kind: n, nm: 600, source: common practice}
  - {name: p+ diffusion, where: "{active} & {p-doping} - {poly}", kind: p, nm: 600, source: common practice}
"""

METAL_GATE = """
base: silicon
surface: conformal
vary: 0.04
places:
  - {name: contact, where: "{contact}", films: [], metal_shade: 0.55}
  - {name: window on diffusion, where: "{thin-oxide} & {diffusion}", films: [oxide 110]}
  - {name: channel, where: "{thin-oxide}", films: [oxide 90]}
  - {name: p diffusion, where: "{p-doping}", films: [oxide 400]}
  - {name: n diffusion, where: "{n-doping}", films: [oxide 490]}
  - {name: diffusion, where: "{active}", films: [oxide 400]}
  - {name: well field, where: "{well}", films: [oxide 1180], height: 1110, fades: field}
  - {name: field, films: [oxide 1240]}
apart: [[channel, p diffusion], [channel, n diffusion], [channel, diffusion], [p diffusion, field], \
[diffusion, field], [n diffusion, p diffusion]]
hues: [[n diffusion, field]]
either: [[n diffusion, p diffusion]]
junctions:
  - {name: well, where: "{well}", kind: "{well kind}", nm: 8000, source: common practice (wells of 6 to 10 µm)}
  - {name: n diffusion, where: "{n-doping}", kind: n, nm: 2000, source: common practice}
  - {name: p diffusion, where: "{p-doping}", kind: p, nm: 2000, source: common practice}
  - {name: diffusion, where: "{active}", kind: "{only kind}", nm: 2000, source: common practice}
"""

METALS = (("local-metal", 100, 0), ("metal", 900, 0), ("metal-2", 1000, 700), ("upper-metal", 1000, 700))
"""Role, nm, and nm of insulator below it."""


def default_films(process: Process) -> str:
    """Return the text of a films section. Raises LayoutdrillError where the process has no metal."""
    roles: dict[str, list[str]] = {}
    for name, layer in process.layers.items():
        roles.setdefault(layer.role, []).append(name)
    if "metal" not in roles:
        raise LayoutdrillError(
            f'process "{process.name}" has no layer of role metal, so its films cannot be guessed',
            where=process.where,
            todo='add a section "films:"',
        )
    roles["diffusion"] = roles.get("n-doping", []) + roles.get("p-doping", [])
    template = SILICON_GATE if "poly" in roles else METAL_GATE
    only = process.transistors[0].kind if process.transistors else Kind.N
    kinds = {"{well kind}": _well_kind(process), "{only kind}": only}
    lines = []
    left_out = set()
    for line in template.strip().splitlines():
        filled = line
        for word, kind in kinds.items():
            filled = filled.replace(word, kind)
        for role, names in roles.items():
            filled = filled.replace("{" + role + "}", f"({' | '.join(names)})" if names else "{none}")
        if line.lstrip().startswith("- {name:") and "{" in filled.split("{name:", 1)[1]:
            left_out.add(line.split("{name: ", 1)[1].partition(",")[0])
            continue
        lines.append(filled)
    return (
        "\n".join(
            [*(_without(line, left_out) for line in lines), "metals:", *_metals(roles, 2 if "poly" in roles else 4)]
        )
        + "\n"
    )


def _well_kind(process: Process) -> Kind:
    """Return what wells are doped with: the kind that the transistors outside them are."""
    for rule in process.transistors:
        if rule.body == SUBSTRATE:
            return rule.kind
    return Kind.N


def _without(line: str, left_out: set[str]) -> str:
    """Take pairs with places that this process lacks out of a line of pairs."""
    key, colon, rest = line.partition(": ")
    if key not in ("apart", "hues", "either"):
        return line
    pairs = [pair for pair in rest.strip("[]").split("], [") if not left_out & set(pair.split(", "))]
    return f"{key}{colon}[{', '.join(f'[{pair}]' for pair in pairs)}]"


def _metals(roles: dict[str, list[str]], curve: float) -> list[str]:
    metals: list[str] = []
    vias = list(roles.get("via", []))
    for role, nm, insulator in METALS:
        for name in roles.get(role, []):
            first = not metals
            holes = "" if first or not vias else f", holes: {vias.pop(0)}, dip: {insulator}, hole_shade: 0.6"
            metals.append(
                f"  - {{layer: {name}, nm: {nm}, insulator: {0 if first else insulator}{holes}, curve: {curve}}}"
            )
    return metals
