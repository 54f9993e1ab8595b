"""Retunes carried out: a plan put on the air step by step, taken back, and the guided change of a single channel."""
