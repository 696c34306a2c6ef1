"""From a routed grid to rectangles: a sketch on movable lines, compacted and painted."""
