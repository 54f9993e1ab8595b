"""Surveys of the spectrum: read from files and scans, and what they show. Pure; numpy only."""
