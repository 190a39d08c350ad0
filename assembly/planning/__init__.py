"""What is worked out from all that is on record: which sets dry badly, what a shift begins when."""
