"""Benchmarks: they print tables and assert no time."""
