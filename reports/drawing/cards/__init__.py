"""Cards: one page to work by, to hang on the wall, or to sign."""
