"""The count of an instrument's loose spares: down when one is packed, up when one comes back."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction

from catalog.actions.instruments import change_instrument
from catalog.actions.recording import Actor
from catalog.models import Instrument


@dataclass(frozen=True, slots=True)
class SparesMoved:
    """Pieces that went (below 0) or came (above), and the count before and after.

    The counts are None where nobody has counted the spares.
    """

    pieces: int
    before: int | None
    after: int | None

    @property
    def not_on_record(self) -> int:
        """Pieces that were taken though the record did not have them: it is wrong.

        >>> SparesMoved(-2, 1, 0).not_on_record, SparesMoved(-2, None, None).not_on_record
        (1, 0)
        """
        return max(0, -self.pieces - self.before) if self.before is not None else 0


@transaction.atomic
def move_spares(actor: Actor, instrument: Instrument, pieces: int) -> SparesMoved:
    """So many loose spares went (below 0) or came back (above), counted on the locked row.

    Never refused and never counted below 0: the piece is in somebody's hand, so a record that
    had fewer was wrong. Spares that nobody has counted stay uncounted.
    """
    row = Instrument.objects.select_for_update().get(pk=instrument.pk)
    before = row.spares_on_hand
    if before is None:
        return SparesMoved(pieces, None, None)
    after = max(0, before + pieces)
    change_instrument(actor, row, {"spares_on_hand": after})
    return SparesMoved(pieces, before, after)
