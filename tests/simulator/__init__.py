"""The virtual receivers and their world."""
