"""From findings to a decision, for one package and for a set."""
