"""A department's own server on a port, people who work with it over HTTP, and what is on record
in the end: shared by ``tests.load`` and ``tests.faults``."""
