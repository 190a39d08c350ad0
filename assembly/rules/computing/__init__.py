"""Computations over many things: splitting a set, a whole catalog."""
