"""Tests of the programs, run as their users run them."""
