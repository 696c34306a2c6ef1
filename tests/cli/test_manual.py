"""The manual page is made from the parser, and the wheel carries it as it is."""

import shutil
import subprocess
from pathlib import Path

import pytest

from layoutdrill import __version__
from layoutdrill.cli import parser
from layoutdrill.manual import manual_page

PAGE = Path(__file__).parents[2] / "art" / "layoutdrill.1"


def test_the_page_in_the_wheel_is_that_of_the_parser():
    """Made anew by: python -m layoutdrill.manual art/layoutdrill.1."""
    assert PAGE.read_text(encoding="utf-8") == manual_page(parser(), __version__)


def test_every_command_is_told():
    """Also those of groups, by both words."""
    page = manual_page(parser(), __version__)
    for name in ("drill", "draw", "explain", "workshop tally", "completion"):
        assert f".SS {name}\n" in page


@pytest.mark.skipif(shutil.which("groff") is None, reason="groff is not installed")
def test_groff_sets_the_page_without_a_warning():
    """Source: groff itself, its man macros, with all warnings on."""
    done = subprocess.run(["groff", "-man", "-Tutf8", "-P-cbou", "-ww", str(PAGE)], capture_output=True, check=True)
    assert done.stderr == b""
    assert "--results" in done.stdout.decode().replace("\u2212", "-").replace("\u2010", "-")
