"""Tests of the journal."""
