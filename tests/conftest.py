"""Settings every test shares."""
