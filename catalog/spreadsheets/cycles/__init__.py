"""PURE: the cycles and methods of an IFU, read as people write them and written so again."""
