"""A practice bench for reading chip layouts."""

__version__ = "0.1.0"
