"""The department's limits: dated, sourced values, read strictly from ``data/``."""
