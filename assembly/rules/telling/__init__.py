"""A decision put into words: reasons, checks, indicators, what the label says."""
