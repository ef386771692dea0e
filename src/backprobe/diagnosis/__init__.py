"""From readings to ranked suspects and the next check."""
