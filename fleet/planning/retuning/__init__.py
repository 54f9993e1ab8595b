"""Putting a plan on the air: the order of single retunes that never leaves two carriers on one frequency."""
