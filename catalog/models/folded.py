"""``item_number__folded="hf-1042"``: equal but for small and capital letters, found by an index.

``iexact`` asks for ``LIKE`` on SQLite and for ``UPPER`` on PostgreSQL: neither has an index here.
What is asked for in a table that grows has an index of ``LOWER`` on its column.
"""

from __future__ import annotations

from typing import Any

from django.db.models import CharField, Lookup


@CharField.register_lookup
class Folded(Lookup):
    """``LOWER(column) = LOWER(value)`` on both databases."""

    lookup_name = "folded"

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        column, before = self.process_lhs(compiler, connection)
        value, after = self.process_rhs(compiler, connection)
        return f"LOWER({column}) = LOWER({value})", (*before, *after)
