"""Tests of the device protocol."""
