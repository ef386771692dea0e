"""Speed and memory, measured on the machine at hand: ``python -m bench``."""
