"""The screen in a real browser, on a real console with virtual receivers."""
