"""Surveys of the spectrum, against drawn noise, hand-made files and general-purpose libraries."""
