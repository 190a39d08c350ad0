"""Requests of the ORs. One verb, one function, by module: ``asking`` (ask, withdraw, another source,
tell), ``working`` (take to hand over), ``together`` (all lines of one request at once). ``lists``,
``sources``, ``timing``, ``falling``, ``coming``, ``needs`` and ``debrief`` only read. The pages are in
``assembly.request_pages``.
"""
