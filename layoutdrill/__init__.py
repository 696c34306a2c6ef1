"""A practice bench for reading chip layouts."""

__version__ = "0.2.0"
