"""How days and times stand on every page: one package a language, as Django reads them."""
