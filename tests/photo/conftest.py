"""Photographs made once for all tests of this room."""

import pytest

from tests.photo.specimens import photograph


@pytest.fixture(scope="session")
def album(tmp_path_factory):
    """A folder with photographs of known truth, and their mark files."""
    folder = tmp_path_factory.mktemp("album")
    photograph(folder, "nand2", stages=True)
    photograph(folder, "nor3", "silicon-gate-nmos")
    photograph(folder, "latch_gates")
    return folder
