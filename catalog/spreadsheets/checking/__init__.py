"""PURE: a whole sheet judged row by row."""
