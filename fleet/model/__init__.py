"""Facts: frozen dataclasses, and the one catalogue of fields."""
