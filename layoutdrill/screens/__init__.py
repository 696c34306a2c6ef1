"""The terminal app: one module a screen, one a widget; the pure parts beside them know no terminal."""
