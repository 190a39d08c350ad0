"""What other values, supplies or cycles would change of a whole catalog, by arrays."""
