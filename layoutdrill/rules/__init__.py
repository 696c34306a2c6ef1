"""Check a layout against the design rules of its process."""
