"""YAML in which every value knows its line and column, with the traps and bombs of the format refused."""

from layoutdrill.yamldoc.document import MACHINE_WRITTEN, Bounds, Document, load, loads
from layoutdrill.yamldoc.node import Node

__all__ = ["MACHINE_WRITTEN", "Bounds", "Document", "Node", "load", "loads"]
