"""What is on record proves itself: guarded, sealed into a chain of digests, verified."""
