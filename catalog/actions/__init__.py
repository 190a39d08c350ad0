"""One verb, one function: the change and its record in the same transaction.

Every function takes the actor and writes a :class:`~catalog.models.Change`; nothing else in
the program alters the catalog. Names are copied into the record as text, so that it stays
readable when a person or an instrument is gone. Saving what is there already writes nothing.
"""

from catalog.actions.count_sheets import (
    NotADraftError,
    add_count_sheet,
    add_line,
    approve_count_sheet,
    change_line,
    discard_count_sheet,
    move_line,
    remove_line,
    set_substitutes,
    start_draft,
)
from catalog.actions.identifiers import (
    IdentifierRefusedError,
    add_identifier,
    remove_identifier,
)
from catalog.actions.instruments import add_instrument, change_instrument, cycle_words
from catalog.actions.parts import PartsRefusedError, draft_parts
from catalog.actions.recording import Actor, actor_for, record, set_retired
from catalog.actions.sets import add_set, change_set
from catalog.actions.spares import SparesMoved, move_spares
from catalog.actions.supplies import add_supply, change_supply
