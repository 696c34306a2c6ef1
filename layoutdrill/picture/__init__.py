"""Layout to image: film optics, looks, overlays, and pictures made of terminal cells."""
