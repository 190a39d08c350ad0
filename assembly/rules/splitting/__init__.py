"""A set that is too heavy, too large or without a common cycle, parted into the fewest trays."""
