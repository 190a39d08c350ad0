"""Requests of the theatres, and where packages are. One verb, one function, by module:

``asking`` (ask, withdraw), ``working`` (take to hand over), ``shelf`` (put away, move,
hand over, take off), ``levels`` (low levels, places, when a set is needed), ``causes``
(what went short, and replenishing it). ``finding`` and ``sources`` only read.
"""
