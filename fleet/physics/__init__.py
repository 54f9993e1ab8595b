"""Formulas: numbers or arrays in and out, ValueError at the edges. Imports nothing of ours."""
