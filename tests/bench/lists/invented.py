"""How lists that a rule makes are understood: ``python -m tests.bench.lists.invented [FROM TO]``.

FROM and TO are seeds: 0 to 240 where none are named.
"""

from __future__ import annotations

import os
import sys


def main() -> None:
    """Print every list that is not right at once, and the sums."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.test")
    import django

    django.setup()
    from tests.catalog.spreadsheets import test_invented_lists, test_invented_sheets

    first, last = map(int, sys.argv[1:3] or (0, 240))
    seeds = range(first, last)
    half, misleading = test_invented_lists.half_known, test_invented_lists.misleading
    for made, (counts, told) in (
        ("lists", test_invented_lists.measured(seeds, test_invented_lists.invented)),
        ("lists of which the catalog has half", test_invented_lists.measured(seeds, half)),
        ("lists with columns that mislead", test_invented_lists.measured(seeds, misleading)),
        ("count sheets", test_invented_sheets.measured(seeds)),
    ):
        print("\n".join(told))
        print(f"{made}: " + ", ".join(f"{count} {word}" for word, count in counts.items()))


if __name__ == "__main__":
    main()
