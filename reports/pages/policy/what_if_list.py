"""What would change, as a list: kept until something that a decision reads changes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256

from django.core.cache import caches

from assembly.consequences.supposing import Said, supposed_by
from assembly.consequences.what_if import (
    Change,
    Consequences,
    Supposed,
    in_use,
    supposed,
    what_if,
)
from assembly.judging.facts_from_catalog import department
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import default_parameters
from reports.documents.lists import ListColumn, ListKind, Row
from reports.gathering.lists_from_catalog import KEPT_S, kept_as

AT_ONCE, AS_A_SET = 40, 200
"""So many sets a page waits for, each decided twice: a second of processor time; so many
instruments take as long as one."""
COLUMNS = (
    ListColumn("What", 0.7), ListColumn("Number", 0.8), ListColumn("Name", 2.2),
    ListColumn("Now", 1.2), ListColumn("Then", 1.2), ListColumn("Weight", 0.8),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Asking:
    """What is asked, with the key by which what was found is kept."""

    said: Said
    supposed: Supposed
    key: str

    @classmethod
    def of(cls, said: Said) -> Asking:
        """Checked against the department; nothing where nothing was said. ValueError says what
        cannot be (PolicyError is one)."""
        asked, here = Supposed() if said == Said() else supposed_by(said), department()
        supposed(here, asked)
        words = (here.word, sorted(asked.values.items()), asked.supplies, asked.programmes,
                 sorted(asked.without), sorted(asked.without_programmes))  # fmt: skip
        key = kept_as(f"what-if-{sha256(repr(words).encode()).hexdigest()}")
        return cls(said, asked, key)

    @property
    def kept(self) -> Consequences | None:
        """What was found before, while nothing has changed since."""
        found: Consequences | None = caches["lists"].get(self.key)
        return found

    def found(self, tell: Callable[[int], None] | None = None) -> Consequences:
        """What would change, found anew or kept."""
        found = self.kept
        if found is None:
            found = what_if(self.supposed, tell or (lambda done: None))
            caches["lists"].set(self.key, found, KEPT_S)
        return found

    def takes_long(self) -> bool:
        """Whether a page may not wait for it."""
        instruments, sets = in_use()
        return sets + instruments / AS_A_SET > AT_ONCE and self.kept is None


def list_of(said: Said, found: Consequences) -> ListKind:
    """The list as every paper and file has it; its title says what is supposed."""
    return ListKind(
        "what-if", title_of(said), COLUMNS, lambda: _rows(found.found),
        f"{summary(found)} Nothing of it is in force.", permission="assembly.override_policy",
        nothing="No package changes, and no set goes over a limit.",
    )  # fmt: skip


def _rows(changes: tuple[Change, ...]) -> Iterator[Row]:
    for one in changes:
        over = "goes over" if one.over else ""
        yield one.what.capitalize(), one.code, one.name, one.before, one.after, over


def summary(found: Consequences) -> str:
    """How much would change, in a sentence."""
    return (
        f"Of {found.instruments:,} instruments and {found.sets:,} sets {len(found.changed):,} go "
        f"into another package or none, {len(found.undecided):,} of them become undecided; "
        f"{len(found.over):,} sets go over a weight limit."
    )


def title_of(said: Said) -> str:
    """What is supposed, in a few words."""
    values = [f"{default_parameters()[name].title}: {value}" for name, value in said.values.items()]
    preset = f"preset {presets()[said.preset].title}" if said.preset else ""
    parts = [preset, *values,
             *(f"with {code}" for code in (*said.supplies, *said.files)),
             *(f"without {code}" for code in said.without),
             *(f"sterilizer {code}" for code in said.sterilizers)]  # fmt: skip
    return f"What if: {', '.join(part for part in parts if part) or 'nothing else'}"
