"""The addresses of the app, a module for each of its rooms of pages."""
