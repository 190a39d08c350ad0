"""PURE: what one cell says, and the report of what it does not say."""
