"""What the department owns. Models hold data and constraints; verbs are in catalog.actions."""

from catalog.models.batches import (
    HeadingMapping,
    SpreadsheetBatch,
    SpreadsheetCorrection,
    SpreadsheetRow,
)
from catalog.models.chain import ChainForm, ChainSeal, ChainTail
from catalog.models.folded import Folded
from catalog.models.history import Change
from catalog.models.identifiers import Identifier
from catalog.models.instruments import CycleOption, Instrument
from catalog.models.named import NamesBlock, names_changed
from catalog.models.sets import CountSheet, InstrumentSet, Line, lines_with_instruments
from catalog.models.staged import StagedCycle, StagedInstrument, Unrecorded
from catalog.models.supplies import (
    Basket,
    Container,
    LumenClaim,
    Pouch,
    Programme,
    Protector,
    Roll,
    Sealer,
    Sterilizer,
    Wrap,
)
