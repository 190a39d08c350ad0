"""A single package: one page from the instrument in the hand to its label, one or many alike."""
