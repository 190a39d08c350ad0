"""What holding the record against confirmed presses came to."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Held:
    """How many presses were confirmed; which of them are not on record, what is there twice or was
    never pressed, and what is only half there."""

    confirmed: int
    lost: list[str]
    doubled: list[str]
    half: list[str]

    @property
    def whole(self) -> bool:
        return not (self.lost or self.doubled or self.half)
