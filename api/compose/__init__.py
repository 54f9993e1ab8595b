"""The composition roots: the command line, the demonstration and offline runs."""
