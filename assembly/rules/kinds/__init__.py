"""One module a kind of package: pouch, roll, wrap, container, and the protector in it."""
