"""From virtual receivers to the messages a screen gets, on virtual time."""
