"""The tests, which mirror the packages they test."""
