"""Posters for the wall: what is drawn on them in plain shapes, and the page round it. Pure."""
