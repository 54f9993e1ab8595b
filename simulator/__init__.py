"""A fleet of virtual receivers in a radio world, reached only over the device protocol."""
