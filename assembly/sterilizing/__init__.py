"""Loads: filled, started, released, recalled."""
