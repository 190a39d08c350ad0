"""Indexes of tables that grow, as short as what asks them allows.

A text that is unique or looked up whole is so by ``Meta``: ``unique`` and ``db_index`` of a field
give PostgreSQL a second index, for words that begin with something, which nobody asks here.
"""

from __future__ import annotations

from django.db import models


def where_known(field: str, name: str) -> models.Index:
    """An index of the rows that have one: of a relation that most of them lack."""
    return models.Index(fields=[field], condition=models.Q((f"{field}__isnull", False)), name=name)
