"""Tests of the facts."""
