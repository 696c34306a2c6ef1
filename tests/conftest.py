"""
No test reads or writes the records and settings of whoever runs it. Random cases are the same in every run, so that a
failure is the change's own; `LAYOUTDRILL_SWEEPS=all`, for wide sweeps by hand, draws new ones.
"""

import gc
import os
from itertools import count

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
if os.environ.get("LAYOUTDRILL_SWEEPS") != "all":
    settings.load_profile("steady")

_NUMBERS = count()

gc.disable()  # while tests are collected, everything is kept anyway


def pytest_collection_finish():
    """Leave what was collected out of every later search for garbage, and search less often: a tenth of the time."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


@pytest.fixture(scope="session")
def homes(tmp_path_factory):
    """A folder for the home of each test; none is made before something is kept in it."""
    return tmp_path_factory.mktemp("homes")


@pytest.fixture(autouse=True)
def own_home(homes, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(homes / str(next(_NUMBERS))))


@pytest.fixture(scope="session", autouse=True)
def compiled_once(tmp_path_factory):
    """Programs that tests start find what the one before compiled, also where none of it may lie beside the source."""
    if "PYTHONDONTWRITEBYTECODE" not in os.environ:
        yield
        return
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("PYTHONDONTWRITEBYTECODE")
        patch.setenv("PYTHONPYCACHEPREFIX", str(shared_folder(tmp_path_factory) / "bytecode"))
        yield


@pytest.fixture(scope="session", autouse=True)
def drawn_once():
    """What rooms beyond `prove` show is drawn once in a run, whichever test asks for it; see `tests/drawings.py`."""
    from tests.drawings import proved_once

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("layoutdrill.prove.proved", proved_once)
        yield


@pytest.fixture
def drawn_anew(monkeypatch):
    """For a test that claims that what is drawn twice is the same."""
    from layoutdrill.prove import proof

    monkeypatch.setattr("layoutdrill.prove.proved", proof.proved)


def shared_folder(tmp_path_factory):
    """Return a folder of this run that its workers share."""
    own = tmp_path_factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


@pytest.fixture(scope="session")
def chip_of(tmp_path_factory):
    """
    The function that returns what `proved_chip` gives for a chip, a process and a seed: seconds of work, so it is drawn
    and proved once in a run, whichever worker asks first.
    """
    from layoutdrill.cells.chips import load_chip
    from layoutdrill.process import load_process
    from layoutdrill.prove.chips import proved_chip

    shared = shared_folder(tmp_path_factory)
    drawn = {}

    def opened(chip, process, seed=1):
        if (chip, process, seed) not in drawn:
            with pytest.MonkeyPatch.context() as patch:
                patch.setenv("LAYOUTDRILL_CACHE", str(shared / "chips"))
                drawn[chip, process, seed] = proved_chip(load_chip(chip), load_process(process), seed)
        return drawn[chip, process, seed]

    return opened
