"""What teaches: the posters of the wall, and skills checks."""
