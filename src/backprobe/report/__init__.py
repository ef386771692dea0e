"""What the library says, as plain text for a terminal and as JSON."""
