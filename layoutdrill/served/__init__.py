"""The app in a browser, for a workshop where not everyone has a terminal: seats, checks, server, a seat's app."""
