"""The documents of all rooms in one place."""

from webapp.exchange.document import Document
from webapp.exchange.jobs import JobDocument
from webapp.exchange.metal import (
    AlloyDocument,
    CoolingRuleDocument,
    ElementRangeDocument,
    FinenessStandardDocument,
    MetalDocument,
    SourceDocument,
    TemperatureRangeDocument,
)
from webapp.exchange.mould import (
    BurnoutProgramDocument,
    FlaskSizeDocument,
    InvestmentKindDocument,
    KilnDocument,
    OutageDocument,
    PatternMaterialDocument,
    PieceSizeDocument,
    SegmentDocument,
)
from webapp.exchange.plan import PlanDocument
from webapp.exchange.shop import CastingMachineDocument, PersonDocument, ShiftDocument, ShopDocument, ShopRulesDocument
from webapp.exchange.stock import ConsumableDocument, LotDocument, PowderDocument
from webapp.exchange.week import WeekDocument

__all__ = [
    "AlloyDocument",
    "BurnoutProgramDocument",
    "CastingMachineDocument",
    "ConsumableDocument",
    "CoolingRuleDocument",
    "Document",
    "ElementRangeDocument",
    "FinenessStandardDocument",
    "FlaskSizeDocument",
    "InvestmentKindDocument",
    "JobDocument",
    "KilnDocument",
    "LotDocument",
    "MetalDocument",
    "OutageDocument",
    "PatternMaterialDocument",
    "PersonDocument",
    "PieceSizeDocument",
    "PlanDocument",
    "PowderDocument",
    "SegmentDocument",
    "ShiftDocument",
    "ShopDocument",
    "ShopRulesDocument",
    "SourceDocument",
    "TemperatureRangeDocument",
    "WeekDocument",
]
