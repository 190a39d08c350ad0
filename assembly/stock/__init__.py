"""What is there of each supply: boxes that are empty, what was used, when more is ordered."""
