"""What skills are called, in plain words: a key such as “see: n and p” is for records, and is never shown."""

from collections.abc import Mapping

_SEEN: Mapping[str, str] = {
    "layers": "which layer is which",
    "contact": "contacts",
    "crossing": "crossings",
    "transistor": "transistors",
    "n and p": "n or p",
    "rails": "which rail is which",
    "nets": "following a net",
    "via": "vias",
    "tap": "taps",
    "crossunder": "crossunders",
    "guard ring": "guard rings",
    "loads": "drivers and loads",
    "turned or mirrored": "turned or mirrored",
    "dirt": "dust or contact",
    "seams": "following a net across a seam",
    "plan of a die": "the plan of a die",
    "stages": "one place at two stages",
}
_APART = {
    "processes": "which process it is",
    "evidence": "what can be decided from a picture",
    "faults": "what is wrong",
    "logs": "a log held against a die",
}
_OTHER: Mapping[str, str] = {
    "n": "p",
    "p": "n",
    "driver": "load",
    "load": "driver",
    "enhancement": "depletion",
    "depletion": "enhancement",
}
"""What a transistor is that was taken for the other of two."""
_MANY = ("cross-coupled inverters", "gate-array gates", "input protection")
"""Structures that stand without an article."""


def skill_name(group: str, subject: str) -> str:
    """Return what a skill is called: “contacts”, “recognise a NAND”, “work out an AOI”, “the netlist of a NOR”."""
    if subject in _APART:
        return _APART[subject]
    match group:
        case "see":
            return _SEEN.get(subject, subject)
        case "name":
            return f"recognise {a(subject)}"
        case "write":
            return f"the netlist of {a(subject)}"
        case _:
            return f"{group} {a(subject)}"


def named(key: str) -> str:
    """Return what the skill of a key is called."""
    group, _, subject = key.partition(": ")
    return skill_name(group, subject) if subject else key


def pair_name(group: str, first: str, second: str) -> str:
    """Name two things that are taken for each other: “NAND or NOR”, “contacts or crossings”."""
    names = (_SEEN.get(each, each) if group == "see" else each for each in (first, second))
    return " or ".join(sorted(names))


def confusion_name(group: str, true: str, said: str) -> str:
    """Say what was taken for what: “NOR taken for NAND”, “n taken for p”."""
    if group == "see":
        true = _OTHER[said] if true in ("n and p", "loads") and said in _OTHER else _SEEN.get(true, true)
        true = "another layer" if true == _SEEN["layers"] else true
        said = _SEEN.get(said, said)
    return f"{true} taken for {said}"


def a(subject: str) -> str:
    """Put the article before the name of a structure, as it is spoken: an AOI, an SR latch, a ROM plane."""
    if subject in _MANY:
        return subject
    spelled = subject.split(maxsplit=1)[0] in (
        "RC",
        "SR",
        "XOR",
        "XNOR",
    )  # said letter by letter, the first with a vowel
    return f"{'an' if spelled or subject[:1] in 'aeiouAEIO' else 'a'} {subject}"
