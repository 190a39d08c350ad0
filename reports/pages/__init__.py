"""Previews, files and print runs."""
