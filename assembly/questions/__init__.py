"""What the bench cannot decide alone: values measured for the catalog, and questions asked.

``proposing``: a technician's value decides nothing until a coordinator confirms it.
``asking``: a question to the coordinators, and the answer that comes back. Pages include
``assembly/questions/_propose.html`` and ``_ask.html``, each ``with about=`` the thing.
"""
