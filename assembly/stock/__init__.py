"""What is there of each supply: boxes that are empty, what is left, when more is ordered."""
