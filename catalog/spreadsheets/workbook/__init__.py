"""PURE: a file opened, read in one pass, and written."""
