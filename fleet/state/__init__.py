"""The live picture of the fleet and its only writer."""
