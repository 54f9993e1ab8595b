"""Tests of the live picture."""
