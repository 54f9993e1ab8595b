"""Rule documents compiled to column operations, and the life of an alarm as a table."""
