"""Processes of each logic style."""

import pytest

from layoutdrill.process import load_process
from tests.cells.processes import TEXTS, made


@pytest.fixture(scope="session")
def processes(tmp_path_factory):
    """One process of each style; sapphire stands for complementary logic, where no bodies are in the way."""
    return {
        name: made(tmp_path_factory.mktemp(name), text) if text else load_process("metal-gate-sapphire")
        for name, text in TEXTS.items()
    }
