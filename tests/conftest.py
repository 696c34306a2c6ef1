"""
No test reads or writes the records and settings of whoever runs it. Random cases are the same in every run, so that a
failure is the change's own; `LAYOUTDRILL_SWEEPS=all`, for wide sweeps by hand, draws new ones.
"""

import os
from itertools import count

import pytest
from hypothesis import settings

settings.register_profile("steady", derandomize=True)
if os.environ.get("LAYOUTDRILL_SWEEPS") != "all":
    settings.load_profile("steady")

_NUMBERS = count()


@pytest.fixture(scope="session")
def homes(tmp_path_factory):
    """A folder for the home of each test; none is made before something is kept in it."""
    return tmp_path_factory.mktemp("homes")


@pytest.fixture(autouse=True)
def own_home(homes, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(homes / str(next(_NUMBERS))))
