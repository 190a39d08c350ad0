"""The only bridge from rows to facts; decisions for pages; the verbs of policy."""
