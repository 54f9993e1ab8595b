"""The small devices of the documentation, run as what they are."""
