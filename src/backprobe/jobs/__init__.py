"""The job log, its store and its exchange file."""
