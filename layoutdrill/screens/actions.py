"""
Name every action once: its keys, its words, and where it is possible.

Keys, footer, finder and help are all made from this table; nothing else binds a key.
"""

from layoutdrill.value import value


@value
class Action:
    """
    One thing a user can do. `label` is the footer's word, `about` the sentence of finder and help.

    `where` names the screens that offer it ("*" is all of them). `foot` orders the footer, lowest first; 0 keeps it
    out. `keys_as` says the keys of several actions at once, in the footer entry of the first of them. `typing` tells
    that its keys still work while a line of text is being typed.
    """

    name: str
    keys: tuple[str, ...]
    label: str
    about: str
    where: tuple[str, ...]
    foot: int = 0
    typing: bool = False
    keys_as: str = ""


PICTURE = ("drill", "lesson", "explain", "compare", "show", "mark", "preview", "step")
MADE = ("drill", "lesson", "explain", "compare", "show")
"""Those of them whose pictures are made, not read from a file alone."""
PAGED = ("lesson",)
LISTS = ("home", "practice", "settings", "choose", "library", "finder", "progress", "words", "survey")

ACTIONS: tuple[Action, ...] = (
    # answering
    Action("choose_a", ("a",), "answer", "Answer with choice a", ("drill",), 1, keys_as="a–d"),
    Action("choose_b", ("b",), "answer", "Answer with choice b", ("drill",)),
    Action("choose_c", ("c",), "answer", "Answer with choice c", ("drill",)),
    Action("choose_d", ("d",), "answer", "Answer with choice d", ("drill",)),
    Action("place", ("enter",), "answer here", "Answer with the place under the crosshair", ("drill",), 1),
    Action("hand_in", ("enter",), "answer", "Answer with what stands in the line", ("drill",), 1, typing=True),
    Action("type", ("t",), "type", "Type the answer in words", ("drill",), 5),
    Action(
        "stop_typing",
        ("escape",),
        "leave the line",
        "Leave the line of text, so that single keys work again",
        ("drill", "explain", "settings", "mark"),
        2,
        typing=True,
    ),
    Action(
        "hint", ("h", "f2"), "hint", "Show the next hint; each lowers the credit a little", ("drill",), 6, typing=True
    ),
    Action("skip", ("g",), "tell me", "Give this question up and be told the answer", ("drill",), 7),
    Action("onward", ("enter", "space"), "onward", "Go on to the next question", ("drill",), 1),
    Action("details", ("v",), "all of it", "Give the explanation the whole screen, or back", ("drill",), 3),
    Action("compare", ("s",), "side by side", "Show the structure named beside the right one", ("drill",), 4),
    Action(
        "step", ("w",), "step through", "Step through the circuit: change inputs and see every level", ("drill",), 3
    ),
    Action("turn_1", ("1",), "inputs", "Change the first input", ("step",), 1, keys_as="1–9"),
    *(Action(f"turn_{n}", (str(n),), "inputs", f"Change input {n}", ("step",)) for n in range(2, 10)),
    Action("step_on", ("space", "enter"), "step", "Give the clock its next edge, or go to the next row", ("step",), 2),
    Action("step_back", ("backspace",), "step back", "Take the last step back", ("step",), 3),
    Action("dispute", ("exclamation_mark",), "dispute", "Save a report that questions this verdict", ("drill",), 40),
    Action("look_back", ("p", "f6"), "look back", "Look back at the verdict before", ("drill",), 19, typing=True),
    Action("look_on", ("n", "f7"), "look on", "Look on to the verdict after this one", ("drill",), 20, typing=True),
    Action("look_again", ("r",), "look again", "Choose a question to look at again, with its verdict", ("drill",), 2),
    Action("missed", ("m",), "only the missed", "Be asked what was missed, from fresh drawings", ("drill",), 3),
    Action("reveal", ("enter", "space"), "reveal", "Reveal the next step", ("show",), 1),
    Action("conceal", ("backspace", "b"), "conceal", "Take the last step back", ("show",), 2),
    Action("next_question", ("n",), "next", "Go on to the next question of the set", ("show",), 3),
    Action("last_question", ("p",), "before", "Go back to the question before", ("show",), 4),
    Action("next_item", ("n",), "next", "Go on to the next item of the deck", ("preview",), 1),
    Action("last_item", ("p",), "before", "Go back to the item before", ("preview",), 2),
    Action("next_seed", ("f",), "another seed", "Draw the item anew from the next seed", ("preview",), 3),
    # marking
    Action("put_down", ("enter", "space"), "put down", "Put a place down under the crosshair", ("mark",), 1),
    Action("finish_mark", ("f",), "finish", "Say what the places put down are", ("mark",), 2),
    Action("mark_wire", ("w",), "wire", "Mark a wire of a net: its ends and corners", ("mark",), 3),
    Action("mark_point", ("d",), "point", "Mark a place that lies on a net", ("mark",), 3),
    Action("mark_contact", ("c",), "contact", "Mark a contact, and the layers that it joins", ("mark",), 3),
    Action("mark_transistor", ("t",), "transistor", "Mark a transistor: gate, end, end", ("mark",), 3),
    Action("mark_port", ("a",), "port", "Name a net that leads out, and say what it is for", ("mark",), 4),
    Action("mark_region", ("r",), "region", "Name a part of the picture that is asked about", ("mark",), 4),
    Action("mark_repeat", ("q",), "repeat", "Repeat a marked region at a pitch across an array", ("mark",), 5),
    Action("measure", ("m",), "measure", "Measure a length, or a pitch over several steps", ("mark",), 5),
    Action("rename_net", ("n",), "rename", "Call a net otherwise, or make two nets one", ("mark",), 6),
    Action("stages", ("s",), "stages", "Show two stages side by side, or one", ("mark",), 6),
    Action("join_stages", ("j",), "join", "Mark a point that two pictures have in common", ("mark",), 6),
    Action(
        "remove_mark", ("delete", "b"), "remove", "Take one mark away: choose from those near a place", ("mark",), 7
    ),
    Action("undo_mark", ("u",), "undo", "Take the last place up, or the last mark back", ("mark",), 7),
    Action("take_up", ("backspace",), "take up", "Take the last place up again", ("mark",), 8),
    Action("bring_oddity", ("v",), "odd ones", "Bring the next place into sight that is odd", ("mark",), 8),
    Action("stop_tool", ("escape",), "no tool", "Lay the tool aside", ("mark",), 9),
    Action("sure_1", ("1",), "guessed", "Say that you guessed", ("drill",), 1),
    Action("sure_2", ("2",), "fairly sure", "Say that you are fairly sure", ("drill",), 2),
    Action("sure_3", ("3",), "sure", "Say that you are sure", ("drill",), 3),
    Action("unsaid", ("escape", "enter"), "neither", "Say nothing of how sure you are", ("drill",), 4),
    # looking
    Action(
        "pan_left",
        ("left", "ctrl+left"),
        "move",
        "Look further left, or move the crosshair",
        PICTURE,
        11,
        keys_as="←↑↓→",
        typing=True,
    ),
    Action(
        "pan_right",
        ("right", "ctrl+right"),
        "move",
        "Look further right, or move the crosshair",
        PICTURE,
        0,
        typing=True,
    ),
    Action("pan_up", ("up", "ctrl+up"), "move", "Look further up, or move the crosshair", PICTURE, 0, typing=True),
    Action(
        "pan_down", ("down", "ctrl+down"), "move", "Look further down, or move the crosshair", PICTURE, 0, typing=True
    ),
    Action("far_left", ("shift+left",), "move far", "Move eight times as far left", PICTURE, 0, typing=True),
    Action("far_right", ("shift+right",), "move far", "Move eight times as far right", PICTURE, 0, typing=True),
    Action("far_up", ("shift+up",), "move far", "Move eight times as far up", PICTURE, 0, typing=True),
    Action("far_down", ("shift+down",), "move far", "Move eight times as far down", PICTURE, 0, typing=True),
    Action("zoom_in", ("plus", "equals_sign"), "closer", "Look closer, in whole half-pixels per λ", PICTURE, 12),
    Action("zoom_out", ("minus",), "wider", "Look wider", PICTURE, 13),
    Action(
        "whole", ("0", "f8"), "whole", "See all of the drawing; a large one as an overview", PICTURE, 10, typing=True
    ),
    Action(
        "crosshair",
        ("x", "ctrl+t"),
        "crosshair",
        "Show or hide the crosshair; arrow keys move it, and the heading tells where it stands",
        PICTURE,
        14,
        typing=True,
    ),
    Action("lift", ("l",), "lift layer", "Lift the topmost layer off, as etching does", PICTURE, 15),
    Action("lay_back", ("k",), "lay back", "Lay the layer lifted last back", PICTURE, 16),
    Action(
        "legend",
        ("e", "f9"),
        "legend",
        "Show what each thing looks like in this very picture",
        PICTURE,
        9,
        typing=True,
    ),
    Action("outline", ("o",), "outlines", "Show or hide the outlines on the picture", PICTURE, 17),
    Action("overview", ("i",), "overview", "Show the overview small, over all of the picture, or not", PICTURE),
    Action(
        "ruler",
        ("R", "ctrl+r"),
        "scale bar",
        "Lay the scale bar on the picture, or only where it has room beside it",
        PICTURE,
        29,
        typing=True,
    ),
    Action(
        "look",
        ("y", "ctrl+y"),
        "mask or light",
        "Change between mask colours and the microscope; the place stays put",
        PICTURE,
        18,
        typing=True,
    ),
    Action("stage", ("z",), "stage", "Take the die a stage further apart, or make it whole again", MADE, 31),
    Action("objective", ("O",), "objective", "Turn the turret: ×5 to ×50, or the objective that suits", MADE, 32),
    Action("section", ("u",), "cut", "Cut the die at the place asked about and look from the side", ("drill",), 8),
    Action("next_look", ("Y",), "other looks", "Go on to the next of all looks", PICTURE, 30),
    Action(
        "flip",
        ("j", "f4"),
        "flip",
        "Show the next of the pictures to be compared, alone, in the place of this one",
        ("drill",),
        8,
        typing=True,
    ),
    Action(
        "answer",
        ("a",),
        "answer",
        "Tell what is to be read on the page, on the picture and as a table, or take it off again",
        ("lesson",),
        6,
    ),
    Action(
        "other_picture",
        ("f",),
        "other picture",
        "Show the other of two pictures, in the place of this one",
        ("lesson",),
        7,
    ),
    Action(
        "jump",
        ("j", "f4"),
        "next place",
        "Jump to the next place spoken of that is out of sight; the overview rings them",
        PICTURE,
        8,
        typing=True,
    ),
    # pages and lists
    Action("next_page", ("enter", "space", "n"), "next", "Go on: the next step, or the next page", PAGED, 1),
    Action("last_page", ("b", "backspace"), "before", "Go back a step or a page", PAGED, 2),
    Action("begin", ("q",), "questions", "Go straight to the lesson's questions", PAGED, 3),
    Action("open", ("enter",), "open", "Open or change what the cursor is on", (*LISTS, "legend"), 1),
    Action("seek", (), "narrow the list", "Type letters: the list narrows to what holds them", LISTS, 3, keys_as="a–z"),
    Action("seek_less", ("backspace",), "widen", "Take the last letter back, and widen the list", LISTS),
    Action("pick_up", ("up",), "pick", "Move the cursor up the list", (*LISTS, "legend"), 2, keys_as="↑↓"),
    Action("pick_down", ("down",), "pick below", "Move the cursor down the list", (*LISTS, "legend")),
    Action("read", ("enter",), "read", "Read the file and say what it is", ("explain",), 1, typing=True),
    Action("unfold", ("enter", "space"), "open", "Open or close what the cursor is on in the outline", ("explain",), 1),
    Action("path", ("t",), "file", "Type the path of another file", ("explain",), 2),
    Action("parts", ("u",), "parts", "Go to the outline of its parts, and back to the picture", ("explain",), 4),
    Action("process", ("p",), "process", "Say in which process a layout is drawn", ("explain",), 3),
    Action(
        "scroll_up",
        ("pageup",),
        "scroll up",
        "Scroll the text up",
        ("drill", "lesson", "explain", "text", "step"),
        0,
        typing=True,
    ),
    Action(
        "scroll_down",
        ("pagedown",),
        "scroll",
        "Scroll the text down",
        ("drill", "lesson", "explain", "text", "step"),
        20,
        typing=True,
    ),
    # everywhere
    Action("help", ("question_mark", "f1"), "help", "Explain this screen", ("*",), 50, typing=True),
    Action(
        "find",
        ("ctrl+p",),
        "find",
        "Find an action, a lesson, a deck, a cell, a word",
        ("*",),
        51,
        typing=True,
    ),
    Action("words", ("f5",), "words", "Look a word up: what it means, which page shows it", ("*",), 52, typing=True),
    Action("stay", ("ctrl+c",), "how to leave", "Say how one leaves", ("*",), 0, typing=True),
    Action("theme", ("f3",), "light or dark", "Change between the light and the dark theme", ("*",), 0, typing=True),
    Action("leave", ("escape",), "back", "Leave this screen; answers given are kept", ("*",), 45),
    Action("suspend", ("ctrl+z",), "to the shell", "Go to the shell; “fg” there comes back", ("*",), 0, typing=True),
    Action("quit", ("ctrl+q",), "quit", "Leave layoutdrill; answers given are kept", ("*",), 60, typing=True),
)

EVERYWHERE = frozenset(action.name for action in ACTIONS if "*" in action.where)
"""The actions of every screen."""
BY_NAME = {action.name: action for action in ACTIONS}

WHY_NOT = {
    "whole": "As much as can be clear at once is in sight already; arrows move.",
    "overview": "All of it is in sight, so there is no overview.",
    "lift": "There is no layer left to lift.",
    "lay_back": "No layer is lifted.",
    "outline": "Nothing is outlined.",
    "jump": "Nothing that is spoken of is out of sight.",
    "pan_left": "All of it is in sight.",
    "pan_right": "All of it is in sight.",
    "pan_up": "All of it is in sight.",
    "pan_down": "All of it is in sight.",
    "scroll_up": "",
    "scroll_down": "",
    "last_page": "This is the first page.",
    "read": "Type the path of a file first.",
    "leave": "Nothing lies behind this screen; ^Q ends.",
}
"""Why an action cannot be done, where one reason holds on every screen."""

KEY_WORDS = {
    "enter": "Enter",
    "space": "Space",
    "escape": "Esc",
    "backspace": "Backspace",
    "left": "←",
    "right": "→",
    "up": "↑",
    "down": "↓",
    "plus": "+",
    "equals_sign": "=",
    "minus": "-",
    "question_mark": "?",
    "exclamation_mark": "!",
    "pageup": "PgUp",
    "pagedown": "PgDn",
}


def key_word(key: str) -> str:
    """Write a key as it stands on the keyboard."""
    if key in KEY_WORDS:
        return KEY_WORDS[key]
    if key.startswith("shift+"):
        return "⇧" + key_word(key.removeprefix("shift+"))
    if key.startswith("ctrl+"):
        return "^" + key_word(key.removeprefix("ctrl+")).upper()
    return key.upper() if len(key) > 1 else key


def offered(screen: str) -> tuple[Action, ...]:
    """Return the actions of a screen, in the table's order."""
    return tuple(action for action in ACTIONS if screen in action.where or "*" in action.where)


def footer(screen: str, possible: frozenset[str], *, typing: bool) -> tuple[tuple[str, str, str], ...]:
    """
    Return (action, key, label) for what can be done now, most wanted first; an entry for several actions has no action.

    While typing, only keys that the line of text does not take are told.
    """
    shown = [a for a in offered(screen) if a.foot and a.name in possible and (a.typing or not typing)]
    shown.sort(key=lambda a: a.foot)
    return tuple(("" if a.keys_as else a.name, _keys_shown(a, typing=typing), a.label) for a in shown)


def _keys_shown(action: Action, *, typing: bool) -> str:
    """Return the keys to tell; several told at once work with Ctrl while typing."""
    return ("^" if typing else "") + action.keys_as if action.keys_as else key_word(_reachable(action, typing=typing))


def _reachable(action: Action, *, typing: bool) -> str:
    """Return the key to tell: the first, or while typing the first that the line of text does not take."""
    return next((key for key in action.keys if not (typing and taken_by_text(key))), action.keys[0])


def taken_by_text(key: str) -> bool:
    """Tell whether a line of text takes this key for itself."""
    function = key[0] == "f" and key[1:].isdigit()
    return not (function or key.startswith("ctrl+") or key in ("escape", "pageup", "pagedown"))


ARROWS = frozenset(("left", "right", "up", "down"))


def meant(screen: str, key: str, possible: frozenset[str], *, typing: bool, empty: bool = False) -> str:
    """
    Return the action that a key means now, or ""; the first possible one in the table's order. While the line of text
    is empty the arrow keys are not its.
    """
    if typing and taken_by_text(key) and not (empty and key in ARROWS):
        return ""
    for action in offered(screen):
        if key in action.keys and action.name in possible and (action.typing or not typing):
            return action.name
    return ""
