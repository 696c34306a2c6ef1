"""No test reads or writes the records and settings of whoever runs it."""

from itertools import count

import pytest

_NUMBERS = count()


@pytest.fixture(scope="session")
def homes(tmp_path_factory):
    """A folder for the home of each test; none is made before something is kept in it."""
    return tmp_path_factory.mktemp("homes")


@pytest.fixture(autouse=True)
def own_home(homes, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(homes / str(next(_NUMBERS))))
