"""The core of Redpoll: what a fleet of receivers is, how it is watched, and how it is commanded."""
