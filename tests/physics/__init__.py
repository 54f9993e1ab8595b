"""Formulas without a published table; the others are tested in tests/published."""
