"""The deck: schema, checker, writer."""
