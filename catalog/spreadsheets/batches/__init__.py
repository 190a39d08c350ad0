"""An upload: looked at, checked, applied, taken back, in a process of its own."""
