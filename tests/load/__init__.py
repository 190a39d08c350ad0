"""Benches and liaisons at once on a department's server; see ``python -m tests.load --help``."""
