"""Check values from outside, each beside its source; none of them comes from our own code."""
