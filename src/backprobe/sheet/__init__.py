"""What one build of one circuit is: parts, runs, connectors, values and their origins."""
