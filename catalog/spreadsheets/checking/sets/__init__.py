"""Count sheets: where each set is, how it is headed, what it asks, and its lines checked."""
