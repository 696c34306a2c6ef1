"""Integer rectilinear geometry: rectangles, polygons, transforms, the sweep, spatial look-up."""
