"""What the product promises when things fail, each promise a file, tried in three tiers of effort."""
