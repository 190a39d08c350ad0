"""What the department decides and does: its policy values, its builds, its packages.

Models hold data and constraints; verbs are in the modules named after what they change.
"""

from assembly.models.builds import Build, BuildEvent, BuildLine
from assembly.models.complaints import Complaint, ComplaintNotice, ComplaintStep, Wrong
from assembly.models.equipment import EquipmentTest, EquipmentTestStep
from assembly.models.layouts import SetLayout
from assembly.models.loads import Biological, Load, LoadedPackage, LoadState, LoadStep, WetCause
from assembly.models.own.containers import ContainerStep, OwnContainer
from assembly.models.own.loaners import Loaner, LoanerStep
from assembly.models.own.lots import SupplyLot
from assembly.models.packages import KeptDecision, Package
from assembly.models.policy import Basis, PolicyOverride
from assembly.models.questions import (
    IfuComparison,
    Proposal,
    ProposalStep,
    Question,
    QuestionStep,
)
from assembly.models.recalls import Recall, RecalledPackage, RecallKind, RecallNotice
from assembly.models.requests import (
    LastLook,
    Request,
    RequestPackage,
    RequestState,
    RequestStep,
)
from assembly.models.shelf import (
    NotNeeded,
    SetNeed,
    ShelfMove,
    ShelfPlace,
    ShelfState,
    Shelved,
    StockLevel,
)
from assembly.models.shortfalls import PiecesBack, Shortfall
from assembly.models.stock import CountedSupply, EmptyBox, SupplyCount, SupplyUse
from assembly.models.upkeep import Repair, Sharpening
from assembly.models.weighing import BaselineVoid, SetBaseline

__all__ = [
    "BaselineVoid",
    "Basis",
    "Biological",
    "Build",
    "BuildEvent",
    "BuildLine",
    "Complaint",
    "ComplaintNotice",
    "ComplaintStep",
    "ContainerStep",
    "CountedSupply",
    "EmptyBox",
    "EquipmentTest",
    "EquipmentTestStep",
    "IfuComparison",
    "KeptDecision",
    "LastLook",
    "Load",
    "LoadState",
    "LoadStep",
    "LoadedPackage",
    "Loaner",
    "LoanerStep",
    "NotNeeded",
    "OwnContainer",
    "Package",
    "PiecesBack",
    "PolicyOverride",
    "Proposal",
    "ProposalStep",
    "Question",
    "QuestionStep",
    "Recall",
    "RecallKind",
    "RecallNotice",
    "RecalledPackage",
    "Repair",
    "Request",
    "RequestPackage",
    "RequestState",
    "RequestStep",
    "SetBaseline",
    "SetLayout",
    "SetNeed",
    "Sharpening",
    "ShelfMove",
    "ShelfPlace",
    "ShelfState",
    "Shelved",
    "Shortfall",
    "StockLevel",
    "SupplyCount",
    "SupplyLot",
    "SupplyUse",
    "WetCause",
    "Wrong",
]
