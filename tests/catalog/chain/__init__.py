"""Records that prove themselves."""
