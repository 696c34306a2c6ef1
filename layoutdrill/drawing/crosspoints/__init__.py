"""Draw crosspoints: gate lines across lines whose transistors lie side by side, one or none at each crossing."""
