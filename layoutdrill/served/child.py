"""What a seat runs: the app on one set, for one learner, driven through the server's pipe. Not started by hand."""

import json
import os
import signal
import sys
from pathlib import Path

from layoutdrill.errors import LayoutdrillError

SEAT_VARIABLE = "LAYOUTDRILL_SEAT"
"""Holds which set, whose answers, and where they go: nothing of it comes from the guest."""


def main() -> int:
    """Run the app, and return its exit code; errors are told in one line, which the server passes to the leader."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the terminal's Ctrl+C is the server's, which ends its apps
    seat = json.loads(os.environ[SEAT_VARIABLE])
    from layoutdrill.screens.app import StartRequest, run_app  # noqa: PLC0415 - the server imports this module too
    from layoutdrill.workshop.documents import read_set  # noqa: PLC0415 - not for a seat at home
    from layoutdrill.workshop.sit import SetSitting, result_file  # noqa: PLC0415 - the same

    set_path = Path(seat["set"])
    path = result_file(set_path, seat["name"], Path(seat["results"]))
    try:
        sitting = SetSitting.open(read_set(set_path), path, seat["name"])
        return run_app(StartRequest(sitting=sitting, confined=True))
    except LayoutdrillError as error:
        sys.stderr.write(f"{seat['name']}: {error}\n")
        return error.exit_code


if __name__ == "__main__":
    sys.exit(main())
