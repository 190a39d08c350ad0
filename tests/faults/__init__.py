"""What goes wrong under a server, done to it on purpose; see ``python -m tests.faults --help``."""
