"""What went short, and what comes back."""
