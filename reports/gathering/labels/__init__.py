"""From packages, instruments and places to their labels."""
