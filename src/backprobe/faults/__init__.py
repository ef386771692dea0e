"""What can go wrong, how often, and what the circumstances say about it."""
