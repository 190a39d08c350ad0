"""How a thing is sterilized: methods, cycles, materials, published times."""
