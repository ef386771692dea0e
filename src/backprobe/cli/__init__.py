"""The command line: thin. It parses, calls the library and shows; no physics and no SQL.

To add a command, add one file to `backprobe.cli.commands` that defines ``COMMAND``; its
docstring's first line is the short help. A folder is a command with commands of its own.
"""
