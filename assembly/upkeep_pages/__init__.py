"""The pages of what is away, and of each thing that is looked after."""
