"""One fixed set of questions for a group: on paper, at the terminal, in a browser, and what the room got wrong."""
