"""What a seat runs: the app on one set, for one learner, driven through the server's pipe. Not started by hand."""

import json
import os
import sys
from pathlib import Path

SEAT_VARIABLE = "LAYOUTDRILL_SEAT"
"""Holds which set, whose answers, and where they go: nothing of it comes from the guest."""


def main() -> int:
    """Run the app, and return its exit code."""
    seat = json.loads(os.environ[SEAT_VARIABLE])
    from layoutdrill.screens.app import StartRequest, run_app  # noqa: PLC0415 - the server imports this module too
    from layoutdrill.workshop.documents import read_set  # noqa: PLC0415 - not for a seat at home
    from layoutdrill.workshop.sit import SetSitting, result_file  # noqa: PLC0415 - the same

    set_path = Path(seat["set"])
    path = result_file(set_path, seat["name"], Path(seat["results"]))
    sitting = SetSitting.open(read_set(set_path), path, seat["name"])
    return run_app(StartRequest(sitting=sitting, confined=True))


if __name__ == "__main__":
    sys.exit(main())
