"""A link opens once, for one seat; no secret can stand for another."""

import pytest

from layoutdrill.served.seats import TOKEN_BYTES, Seats


def test_a_link_opens_once():
    """The first use makes a session; the second, and any guess, is turned away."""
    seats = Seats(["one", "two"], most_open=2)
    token = seats.seats[0].token
    seat = seats.enter(token)
    assert seat is seats.seats[0]
    assert seats.enter(token) is None
    assert seats.enter("") is None
    assert seats.enter(token[:-1] + "x") is None
    assert seats.of_session(seat.session) is seat
    assert seats.of_session("") is None
    assert seats.of_session(token) is None


def test_a_renewed_link_shuts_out_the_old_browser():
    """After a new link the session that was is worth nothing."""
    seats = Seats(["one"], most_open=1)
    session = seats.enter(seats.seats[0].token).session
    token = seats.renew("one")
    assert seats.of_session(session) is None
    assert seats.enter(token) is seats.seats[0]
    with pytest.raises(KeyError):
        seats.renew("nobody")


def test_links_are_long_and_all_different():
    """192 random bits each, so that none can be guessed (OWASP asks 64 bits of a session's secret at least)."""
    seats = Seats([str(n) for n in range(60)], most_open=60)
    tokens = {seat.token for seat in seats.seats}
    assert len(tokens) == 60
    assert min(len(token) for token in tokens) * 6 >= TOKEN_BYTES * 8 >= 64


def test_no_more_run_than_allowed():
    """Room is counted by open apps."""
    seats = Seats(["one", "two"], most_open=1)
    assert seats.room()
    seats.seats[0].open = True
    assert not seats.room()
