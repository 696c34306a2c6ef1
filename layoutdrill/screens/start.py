"""What the app is asked to open with."""

from pathlib import Path
from typing import TYPE_CHECKING

from layoutdrill.value import value

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting


@value
class StartRequest:
    """With a sitting: the drill, and leaving it ends the app. Without: home. `theme` overrides the settings."""

    sitting: "OpenSitting | None" = None
    theme: str | None = None
    kit: Path | None = None
