"""What the department has or is lent: containers by their number, lots, loaners."""
