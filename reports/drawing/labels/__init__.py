"""Labels, and the ruler page of a stock."""
