"""The pages of one package and of the shelf."""
