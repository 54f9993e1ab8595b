"""Tests of the console's API."""
