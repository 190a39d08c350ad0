"""A package: recorded, on the shelf, and how it stands."""
