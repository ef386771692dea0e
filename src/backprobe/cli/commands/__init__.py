"""Commands, one file each; every file defines ``COMMAND``."""
