"""Tables. Field names are those of the domain's classes, so that one function converts them all."""

import sqlalchemy as sa

from webapp.store.tables.access import AccessRow
from webapp.store.tables.accounts import AccountRow, SignInRow, TabletRow, WrongTriesRow
from webapp.store.tables.answers import KeptAnswer
from webapp.store.tables.base import METADATA, Entity, Kept, Table
from webapp.store.tables.books import LedgerBalance, LedgerEntry, LedgerPosting, LedgerReservation
from webapp.store.tables.calendar import CalendarFeedRow
from webapp.store.tables.care import CopyRuleRow
from webapp.store.tables.charges import ChargeBefore, TreeWeighing
from webapp.store.tables.checklists import ChecklistPointRow
from webapp.store.tables.floor import FloorRecord
from webapp.store.tables.intake import IntakeDraft, IntakeMemory
from webapp.store.tables.learned import LearnedRow
from webapp.store.tables.models import ModelRow
from webapp.store.tables.record import ChecklistOverride, ChecklistTick, FlaskPin, PlanVersion
from webapp.store.tables.setup import SetupRow
from webapp.store.tables.shop import (
    AlloyRow,
    ClosureRow,
    FlaskSizeRow,
    InvestmentKindRow,
    KilnRow,
    MachineRow,
    MaterialRow,
    PersonRow,
    ProgramRow,
    RulesRow,
)
from webapp.store.tables.stamp import DataStamp, let_raise
from webapp.store.tables.stock import JobRow, LotRow, MetalOrderRow, MetalRow, PowderRow
from webapp.store.tables.supplies import ConsumableRow, SupplyEntry, SupplyOrder
from webapp.store.tables.ways import WaysRow

__all__ = [
    "METADATA",
    "AccessRow",
    "AccountRow",
    "AlloyRow",
    "CalendarFeedRow",
    "ChargeBefore",
    "ChecklistOverride",
    "ChecklistPointRow",
    "ChecklistTick",
    "ClosureRow",
    "ConsumableRow",
    "CopyRuleRow",
    "DataStamp",
    "Entity",
    "FlaskPin",
    "FlaskSizeRow",
    "FloorRecord",
    "IntakeDraft",
    "IntakeMemory",
    "InvestmentKindRow",
    "JobRow",
    "Kept",
    "KeptAnswer",
    "KilnRow",
    "LearnedRow",
    "LedgerBalance",
    "LedgerEntry",
    "LedgerPosting",
    "LedgerReservation",
    "LotRow",
    "MachineRow",
    "MaterialRow",
    "MetalOrderRow",
    "MetalRow",
    "ModelRow",
    "PersonRow",
    "PlanVersion",
    "PowderRow",
    "ProgramRow",
    "RulesRow",
    "SetupRow",
    "SignInRow",
    "SupplyEntry",
    "SupplyOrder",
    "Table",
    "TabletRow",
    "TreeWeighing",
    "WaysRow",
    "WrongTriesRow",
    "content_tables",
]

RAISING = (
    "alloy",
    "burnout_program",
    "casting_machine",
    "closure",
    "consumable",
    "flask_pin",
    "flask_size",
    "floor_record",
    "investment_kind",
    "job",
    "kiln",
    "ledger_entry",
    "ledger_posting",
    "lot",
    "metal",
    "pattern_material",
    "person",
    "plan_version",
    "powder",
    "shop_rules",
)
"""What the desk and the losses of a year are worked out from."""
let_raise(*RAISING)


def content_tables() -> list[sa.Table]:
    """All that hold something of the shop, each after those that it refers to."""
    return [table for table in METADATA.sorted_tables if table.name != DataStamp.__tablename__]
