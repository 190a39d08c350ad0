"""What the rules are told: instruments, supplies and programmes as frozen facts.

Base units only, named in every field: millimetres, grams, minutes, degrees Celsius.
``None`` always means *unknown*, never zero and never "none". Numbers are checked when
a fact is made: a size of zero, below zero, not finite or beyond any package is refused
with :class:`FactsError`, so that no rule ever has to compute with one.
"""
