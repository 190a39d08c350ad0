"""Every address and form, sent what nobody would send; see ``python -m tests.fuzz --help``."""
