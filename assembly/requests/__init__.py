"""Requests of the ORs, and where packages are. One verb, one function, by module:

``asking`` (ask, withdraw), ``working`` (take to hand over), ``shelf`` (put away, move,
hand over, take off), ``levels`` (low levels, places, when a set is needed),
``replenishing`` (pieces that went short are back). ``finding``, ``sources`` and ``causes``
only read.
"""
