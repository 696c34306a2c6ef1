"""One table of actions feeds keys, footer, finder and help."""

import pytest

from layoutdrill.screens.actions import ACTIONS, BY_NAME, footer, key_word, meant, offered, taken_by_text
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.compare_screen import CompareScreen
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.explain_screen import ExplainScreen
from layoutdrill.screens.finder import FinderScreen, action_rows
from layoutdrill.screens.help_panel import explained
from layoutdrill.screens.home_screen import HomeScreen
from layoutdrill.screens.key_line import fitting
from layoutdrill.screens.legend_screen import LegendScreen
from layoutdrill.screens.lesson_screen import LessonScreen
from layoutdrill.screens.library import LibraryScreen
from layoutdrill.screens.practice_screen import PracticeScreen
from layoutdrill.screens.settings_screen import SettingsScreen
from layoutdrill.screens.text_page import TextPage

SCREENS = (
    DrillScreen,
    LessonScreen,
    CompareScreen,
    ExplainScreen,
    HomeScreen,
    PracticeScreen,
    SettingsScreen,
    ChoosePage,
    LibraryScreen,
    FinderScreen,
    LegendScreen,
    TextPage,
)


def test_every_name_is_told_once():
    """Names are unique, so a key and a click mean the same thing."""
    assert len(BY_NAME) == len(ACTIONS)


@pytest.mark.parametrize("screen", SCREENS)
def test_keys_come_from_the_table_alone(screen):
    """A screen binds exactly the keys of its actions."""
    bound = {binding.key for binding in screen.BINDINGS}
    assert bound == {key for action in offered(screen.name_of) for key in action.keys}
    assert all(binding.action == f"press('{binding.key}')" for binding in screen.BINDINGS)


@pytest.mark.parametrize("screen", SCREENS)
def test_every_action_offered_can_be_carried_out(screen):
    """Each action of a screen has its method there."""
    missing = [
        action.name for action in offered(screen.name_of) if not callable(getattr(screen, f"act_{action.name}", None))
    ]
    assert missing == []


@pytest.mark.parametrize("screen", SCREENS)
def test_no_method_stands_outside_the_table(screen):
    """An action that the table does not know would be missing from footer, finder and help."""
    own = {name.removeprefix("act_") for name in vars(screen) if name.startswith("act_")}
    assert own <= {action.name for action in offered(screen.name_of)}


@pytest.mark.parametrize("screen", SCREENS)
def test_help_and_finder_hold_every_action(screen):
    """Nothing can be done that is not explained and cannot be searched for."""
    everything = frozenset(action.name for action in offered(screen.name_of))
    words = explained(screen.name_of, screen.about, everything).plain
    listed = action_rows(screen.name_of, everything)
    for action in offered(screen.name_of):
        assert action.about in words
        assert all(key_word(key) in words for key in action.keys)
        found = any(row.key == f"do:{action.name}" and row.text == action.about for row in listed)
        assert found or not action.keys or action.name in ("find", "seek_less")


def test_the_footer_tells_only_what_is_possible():
    """An action that makes no sense now is not told."""
    told = footer("drill", frozenset({"hint", "help"}), typing=False)
    assert [name for name, _, _ in told] == ["hint", "help"]


def test_while_typing_the_footer_tells_only_keys_that_work():
    """A printable key goes into the line of text, so it must not be told."""
    everything = frozenset(action.name for action in offered("drill"))
    told = footer("drill", everything, typing=True)
    assert told
    for name, key, _ in told:
        if not name:  # the four arrows are told at once
            assert key == "^←↑↓→"
            continue
        if name == "hand_in":  # the line takes Enter itself, and means the same by it
            assert key == "Enter"
            continue
        keys = [k for k in BY_NAME[name].keys if key_word(k) == key]
        assert keys
        assert not taken_by_text(keys[0])


def test_one_key_means_one_thing_at_a_time():
    """Enter answers, then goes onward, by what is possible."""
    assert meant("drill", "enter", frozenset({"place"}), typing=False) == "place"
    assert meant("drill", "enter", frozenset({"onward"}), typing=False) == "onward"
    assert meant("drill", "a", frozenset({"choose_a"}), typing=True) == ""
    assert meant("drill", "b", frozenset({"choose_a"}), typing=False) == ""


def test_the_picture_moves_while_one_types():
    """Ctrl with an arrow always moves it, an arrow alone while nothing is typed yet."""
    can = frozenset({"pan_left"})
    assert meant("drill", "ctrl+left", can, typing=True) == "pan_left"
    assert meant("drill", "left", can, typing=True, empty=True) == "pan_left"
    assert meant("drill", "left", can, typing=True) == ""


@pytest.mark.parametrize("screen", SCREENS)
def test_no_two_actions_possible_together_share_a_key(screen):
    """Where a key serves two actions they never apply at once: answering, and going on after the verdict."""
    by_key = {}
    for action in offered(screen.name_of):
        for key in action.keys:
            by_key.setdefault(key, set()).add(action.name)
    shared = {frozenset(names) for names in by_key.values() if len(names) > 1}
    allowed = {
        frozenset({"place", "onward"}),
        frozenset({"place", "onward", "unsaid", "hand_in"}),
        frozenset({"stop_typing", "leave"}),
        frozenset({"stop_typing", "leave", "unsaid"}),
        frozenset({"read", "leave"}),
        frozenset({"read", "unfold"}),
        frozenset({"flip", "jump"}),
    }
    assert shared <= allowed


def test_a_narrow_footer_keeps_the_way_to_everything_else():
    """Help, finder and back are never dropped."""
    entries_ = footer("drill", frozenset(action.name for action in offered("drill")), typing=False)
    kept = [name for name, _, _ in fitting(entries_, 60)]
    assert {"leave", "help", "find"} <= set(kept)
    assert sum(len(key) + len(label) + 3 for _, key, label in fitting(entries_, 60)) <= 60
