"""Shapes on mask layers, port labels, placed sub-layouts; GDSII in and out."""
