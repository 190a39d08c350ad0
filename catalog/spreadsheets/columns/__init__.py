"""PURE: the columns that we know, declared once."""
