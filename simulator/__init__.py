"""Virtual receivers in a seeded radio world, reached over the device protocol like any others."""
