"""Cells drawn as one pair of device rows between two rails: place, route, shape."""
