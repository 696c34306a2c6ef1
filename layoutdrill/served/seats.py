"""Who may sit where: a link for each seat that opens once, the session it becomes, and how many may be open."""

import secrets
from collections.abc import Callable, Sequence

from layoutdrill.value import mutable

TOKEN_BYTES = 24
"""192 bits: not to be guessed."""


@mutable
class Seat:
    """
    A place with a learner's name. `token` is in its link until that is used; `session` is the secret of the browser
    that used it; `open` tells that its app is running.
    """

    name: str
    token: str
    session: str = ""
    open: bool = False


class Seats:
    """The seats of one workshop; `most_open` bounds how many apps run at a time."""

    def __init__(
        self,
        names: Sequence[str],
        most_open: int,
        secret: Callable[[], str] = lambda: secrets.token_urlsafe(TOKEN_BYTES),
    ) -> None:
        self._secret = secret
        self.most_open = most_open
        self.seats = [Seat(name, secret()) for name in names]

    def enter(self, token: str) -> Seat | None:
        """Use a link: its seat gets a session, and the link opens no more. None for one that is used or unknown."""
        for seat in self.seats:
            if seat.token and secrets.compare_digest(seat.token.encode(), token.encode()):
                seat.token, seat.session = "", self._secret()
                return seat
        return None

    def of_session(self, session: str) -> Seat | None:
        """Return the seat whose browser holds this secret."""
        for seat in self.seats:
            if seat.session and secrets.compare_digest(seat.session.encode(), session.encode()):
                return seat
        return None

    def renew(self, name: str) -> str:
        """Give a seat a new link, and shut out the browser that had it. Raises KeyError for an unknown name."""
        for seat in self.seats:
            if seat.name == name:
                seat.token, seat.session = self._secret(), ""
                return seat.token
        raise KeyError(name)

    @property
    def open(self) -> int:
        return sum(seat.open for seat in self.seats)

    def room(self) -> bool:
        return self.open < self.most_open
