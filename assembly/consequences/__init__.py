"""What other values, supplies or cycles would change, before they are put in force."""
