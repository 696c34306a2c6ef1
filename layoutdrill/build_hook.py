"""
Run when the wheel is built: read every YAML file that ships, and pack what was read beside the files.

An installed copy then starts without reading YAML, and without the YAML library, from its first run on. Hatchling
loads this file by its path; it is not packed itself.
"""

import sys
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

PACKED = "layoutdrill/_shipped/kept"


class BuildHook(BuildHookInterface[Any]):
    """Pack what was read."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if self.target_name == "wheel" and version != "editable":
            sys.path.insert(0, self.root)
            from layoutdrill.yamldoc.built import write_entries  # noqa: PLC0415 - found by the path set above

            folder = Path(mkdtemp(prefix="layoutdrill-kept-"))
            write_entries(Path(self.root), folder)
            build_data["force_include"][str(folder)] = PACKED
