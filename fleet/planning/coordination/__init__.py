"""Finding frequencies that work together: a request, the rules it makes, a search, and a check of what was found."""
