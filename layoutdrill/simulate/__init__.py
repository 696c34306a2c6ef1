"""Switch-level simulation on transistors alone: settle, table, sequence; and the expression of what was found."""
