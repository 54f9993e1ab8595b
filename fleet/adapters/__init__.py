"""Adapters from a kind of device to the one interface the runtime supervises."""
