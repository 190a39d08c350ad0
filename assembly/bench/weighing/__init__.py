"""What a set weighs complete, and the open set on the scale, which is held against it."""
