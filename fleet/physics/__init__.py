"""Formulas: numbers or arrays in and out, with nothing of ours imported."""
