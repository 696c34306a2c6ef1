"""The terminal app: one module a screen, one a widget."""
