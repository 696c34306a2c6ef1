"""Serve a set until the leader stops it: say the links, and give a seat a new one when a browser was lost."""

import sys
from collections.abc import Sequence
from pathlib import Path
from shutil import rmtree
from threading import Thread

from layoutdrill.served.seats import Seats
from layoutdrill.served.server import SeatServer, Served, new_homes, serve


def open_house(
    title: str, set_file: Path, results: Path, names: Sequence[str], bound: tuple[str, int], address: str
) -> None:
    """Serve until interrupted, listening on `bound` (host and port); `address` is how browsers reach it, if not so."""
    homes = new_homes()
    host, port = bound
    seats = Seats(names, most_open=len(names))
    server = SeatServer(seats, Served(set_file, results, homes), title=title, host=host, port=port, address=address)
    say(f"{title}: a link for each seat. It opens once; whoever opens it has the seat.")
    for seat in seats.seats:
        say(f"  {seat.name}: {server.link(seat)}")
    say("Type a seat's name for a new link, should a browser be lost. Stop with Ctrl+C.")
    Thread(target=_renew, args=(server,), daemon=True).start()
    try:
        serve(server)
    finally:
        rmtree(homes, ignore_errors=True)
    say(f"Results are in {results}.")


def _renew(server: SeatServer) -> None:
    for line in sys.stdin:
        name = " ".join(line.split())
        try:
            server.seats.renew(name)
        except KeyError:
            say(f"no seat {name!r}")
            continue
        seat = next(seat for seat in server.seats.seats if seat.name == name)
        say(f"  {name}: {server.link(seat)}")


def say(text: str) -> None:
    sys.stdout.write(text + "\n")
    sys.stdout.flush()
