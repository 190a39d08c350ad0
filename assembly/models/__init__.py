"""What the department decides and does: its policy values, its builds, its packages.

Models hold data and constraints; verbs are in the modules named after what they change.
"""

from assembly.models.builds import Build, BuildEvent, BuildLine
from assembly.models.loads import Biological, Load, LoadedPackage, LoadState, LoadStep
from assembly.models.packages import Package, Repair, Shortage
from assembly.models.policy import PolicyOverride
from assembly.models.requests import (
    LastLook,
    PiecesBack,
    Request,
    RequestPackage,
    RequestState,
    RequestStep,
    SetNeed,
    ShelfMove,
    ShelfPlace,
    ShelfState,
    Shelved,
    StockLevel,
)

__all__ = [
    "Biological",
    "Build",
    "BuildEvent",
    "BuildLine",
    "LastLook",
    "Load",
    "LoadState",
    "LoadStep",
    "LoadedPackage",
    "Package",
    "PiecesBack",
    "PolicyOverride",
    "Repair",
    "Request",
    "RequestPackage",
    "RequestState",
    "RequestStep",
    "SetNeed",
    "ShelfMove",
    "ShelfPlace",
    "ShelfState",
    "Shelved",
    "Shortage",
    "StockLevel",
]
