"""The line an answer is typed into; keys that it does not need move the picture."""

from textual.widgets import Input

from layoutdrill.screens.steady import Steady

SIDEWAYS = ("cursor_left", "cursor_right")
BY_WORDS = ("cursor_left_word", "cursor_right_word")


class AnswerLine(Steady, Input):
    """An input that leaves Ctrl+arrows to the screen, and the plain ones too while nothing has been typed."""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let a key pass on where the line has no use for it."""
        name = action.partition("(")[0]
        if name in BY_WORDS or (name in SIDEWAYS and not self.value):
            return False
        return super().check_action(action, parameters)
