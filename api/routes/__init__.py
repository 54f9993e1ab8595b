"""The routes of the console's API, one module for each kind of thing."""
