"""From the change that a reason names to the fields with which What if tries it."""

from __future__ import annotations

from domain.planning.explain.changes import (
    AddFlask,
    AllowSplit,
    Both,
    Change,
    EarlierPatterns,
    KilnBack,
    LaterDate,
    MetalBy,
    NightLoad,
    Overtime,
    PlanAhead,
    SecondKiln,
    SecondMachine,
    WorkOn,
)

Fields = tuple[tuple[str, str], ...]
"""names and values of the form of What if"""


def fields_to_try(change: Change | None) -> Fields:
    """None where What if knows no such change: a customer's metal is not ours to bring sooner."""
    match change:
        case AddFlask():
            return ("flask", change.size), ("flask_count", str(change.number))
        case EarlierPatterns():
            return ("patterns", change.job), ("patterns_day", change.day)
        case LaterDate():
            return ("agreed", change.job), ("agreed_day", change.day)
        case AllowSplit():
            return (("split", change.job),)
        case MetalBy():
            return ("melt", change.melt), ("melt_day", change.day)
        case PlanAhead():
            return (("ahead", str(change.days)),)
        case Both():
            one, other = fields_to_try(change.one), fields_to_try(change.other)
            apart = not dict(one).keys() & dict(other).keys()
            return (*one, *other) if one and other and apart else ()
        case _:
            return _of_kilns(change) or _of_hours(change)


def _of_kilns(change: Change | None) -> Fields:
    match change:
        case NightLoad():
            return (("night", change.kiln), *((("night_day", change.day),) if change.day else ()))
        case KilnBack():
            return (("back", change.kiln),)
        case SecondKiln():
            return (("kiln_like", change.kiln),)
        case _:
            return ()


def _of_hours(change: Change | None) -> Fields:
    match change:
        case Overtime():
            return ("overtime", f"{change.minutes} min"), ("overtime_day", change.day)
        case WorkOn():
            return ("works", change.person), ("works_day", change.day)
        case SecondMachine():
            return (("machine_like", change.machine),)
        case _:
            return ()
