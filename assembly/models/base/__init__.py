"""What models share: their steps, and rows that are written once."""
