"""The layout of a basket: rules alone."""
