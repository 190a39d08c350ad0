"""PURE: what a paper says, as plain data."""
