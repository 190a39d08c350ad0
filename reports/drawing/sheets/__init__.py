"""Count sheets."""
