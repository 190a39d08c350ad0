"""Sterilizers and sealers have a day: their tests, and what may run or close on them."""
