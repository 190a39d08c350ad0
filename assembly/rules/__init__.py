"""PURE: the packing rules. Facts and policy in, a decision out; no clock, no database."""
