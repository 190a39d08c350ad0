"""What lies where in a set's basket: proposed, saved with the revision of its count sheet."""
