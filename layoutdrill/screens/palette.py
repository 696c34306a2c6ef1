"""Search every action of the screen below; made from the table of actions."""

from collections.abc import Callable
from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from layoutdrill.screens.actions import key_word, offered
from layoutdrill.screens.page import Page


def entries(screen: str, possible: frozenset[str]) -> tuple[tuple[str, str, str], ...]:
    """Return (action, sentence, help) for each action of a screen; what cannot be done just now says so."""
    found = []
    for action in offered(screen):
        keys = ", ".join(key_word(key) for key in action.keys)
        now = "" if action.name in possible else " · not just now"
        found.append((action.name, action.about, keys + now))
    return tuple(found)


class ActionSource(Provider):
    """Give the palette the actions of the page it was opened on."""

    def _entries(self) -> list[tuple[str, str, Callable[[], None]]]:
        page = self.screen
        if not isinstance(page, Page):
            return []
        return [(about, keys, partial(page.do, name)) for name, about, keys in entries(page.name_of, page.possible())]

    async def discover(self) -> Hits:
        for about, keys, act in self._entries():
            yield DiscoveryHit(about, act, help=keys)

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for about, keys, act in self._entries():
            score = matcher.match(about)
            if score > 0:
                yield Hit(score, matcher.highlight(about), act, help=keys)
