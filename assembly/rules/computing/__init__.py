"""Over many things or hours: a whole catalog as arrays, what waits, what dries, what weighs."""
