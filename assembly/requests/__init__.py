"""Requests of the ORs; their pages are in ``assembly.request_pages``. One verb, one function, by
module: ``asking`` (ask, withdraw, another source, tell), ``working`` (take to hand over),
``together`` (all lines of one request at once). The others only read.
"""
