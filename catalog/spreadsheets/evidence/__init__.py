"""PURE: what headings, labels and values say of a column, weighed as a whole."""
