"""Advice: pure functions over the model and the physics."""
