"""What every kind of package is held to: weight, density, handling."""
