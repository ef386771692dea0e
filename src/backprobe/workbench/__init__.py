"""The bench: what is measured, computed and stood in for, beside the diagnosis."""
