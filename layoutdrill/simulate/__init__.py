"""Switch-level simulation: settle, table, sequence."""
