"""The twenty failure situations: so far the lines that a classifier will tell them apart by; it isn't built yet."""
