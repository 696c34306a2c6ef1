"""Crosspoint planes: lines whose transistors stand side by side, drawn as regular geometry."""

from layoutdrill.drawing.planes.drawn import planes
from layoutdrill.drawing.planes.plan import is_plane

__all__ = ["is_plane", "planes"]
