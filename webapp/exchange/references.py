"""Whether what a week's parts name is there: ids once each, references to something that exists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from webapp.exchange.document import Path, Problem, repeated

if TYPE_CHECKING:
    from webapp.exchange.plan import PlanDocument
    from webapp.exchange.week import WeekDocument

SHOP_LISTS = ("alloys", "materials", "sizes", "investments", "programs", "kilns", "machines", "people", "metals")
WHOLE_TOLERANCE = 1_000
"""Parts per million: three times 33.33 % is taken for a whole."""


def broken_references(week: WeekDocument) -> list[Problem]:
    """Every id that appears twice and every reference to nothing, each with its path."""
    known = _known(week)
    return [
        *_repeated_ids(week),
        *_from_shop(week, known),
        *_from_jobs(week, known),
        *_from_stock(week, known),
        *_compositions(week),
        *_from_previous(week, known),
    ]


def _known(week: WeekDocument) -> dict[str, set[str]]:
    known = {name: {entry.id for entry in getattr(week.shop, name)} for name in SHOP_LISTS}
    known["jobs"] = {job.id for job in week.jobs}
    known["lots"] = {lot.id for lot in week.lots}
    return known


def _repeated_ids(week: WeekDocument) -> list[Problem]:
    problems: list[Problem] = []
    for name in SHOP_LISTS:
        problems += repeated(("shop", name), "id", getattr(week.shop, name))
    problems += repeated(("jobs",), "id", week.jobs)
    problems += repeated(("consumables",), "id", week.consumables or ())
    problems += repeated(("lots",), "id", week.lots)
    return problems + repeated(("powders",), "investment", week.powders)


def _missing(path: Path, ref: str | None, there: set[str], noun: str) -> list[Problem]:
    if ref is None or ref in there:
        return []
    return [(path, f"there is no {noun} “{ref}”")]


def _from_shop(week: WeekDocument, known: dict[str, set[str]]) -> list[Problem]:
    problems: list[Problem] = []
    for i, machine in enumerate(week.shop.machines):
        for size in sorted(machine.fits):
            problems += _missing(("shop", "machines", i, "fits"), size, known["sizes"], "flask size")
    for i, metal in enumerate(week.shop.metals):
        problems += _missing(("shop", "metals", i, "alloy"), metal.alloy, known["alloys"], "alloy")
    return problems


def _from_jobs(week: WeekDocument, known: dict[str, set[str]]) -> list[Problem]:
    owners = {lot.id: lot.owner_job for lot in week.lots}
    problems: list[Problem] = []
    for i, job in enumerate(week.jobs):
        problems += _missing(("jobs", i, "alloy"), job.alloy, known["alloys"], "alloy")
        problems += _missing(("jobs", i, "material"), job.material, known["materials"], "pattern material")
        problems += _missing(("jobs", i, "own_metal"), job.own_metal, known["lots"], "lot")
        for size in job.per_tree:
            problems += _missing(("jobs", i, "per_tree", size), size, known["sizes"], "flask size")
        if job.own_metal in owners and owners[job.own_metal] not in (None, job.id):
            problems.append((("jobs", i, "own_metal"), f"lot “{job.own_metal}” belongs to job “{owners[job.own_metal]}”"))
    return problems


def _from_stock(week: WeekDocument, known: dict[str, set[str]]) -> list[Problem]:
    # the job of a customer's own metal may be done and gone; the metal stays the customer's
    problems: list[Problem] = []
    for i, lot in enumerate(week.lots):
        problems += _missing(("lots", i, "metal"), lot.metal, known["metals"], "metal")
        problems += _missing(("lots", i, "alloy"), lot.alloy, known["alloys"], "alloy")
    for i, powder in enumerate(week.powders):
        problems += _missing(("powders", i, "investment"), powder.investment, known["investments"], "investment")
    return problems


def _compositions(week: WeekDocument) -> list[Problem]:
    metals = [(("shop", "metals", i), metal.composition) for i, metal in enumerate(week.shop.metals)]
    lots = [(("lots", i), lot.composition) for i, lot in enumerate(week.lots)]
    problems: list[Problem] = []
    for path, composition in [*metals, *lots]:
        whole = sum(share.base for share in composition.values())
        if abs(whole - 1_000_000) > WHOLE_TOLERANCE:
            problems.append(((*path, "composition"), f"the shares add up to {whole / 10_000:g} %, not to 100 %"))
    return problems


def _from_previous(week: WeekDocument, known: dict[str, set[str]]) -> list[Problem]:
    flasks = {} if week.previous is None else {flask.id: i for i, flask in enumerate(week.previous.flasks)}
    problems: list[Problem] = []
    for pinned in sorted(week.pinned):
        if week.previous is None or pinned not in flasks:
            problems.append((("pinned",), f"there is no flask “{pinned}” in the previous plan"))
        else:
            problems += _of_pinned(week.previous, flasks[pinned], known)
    return problems


def _of_pinned(plan: PlanDocument, index: int, known: dict[str, set[str]]) -> list[Problem]:
    """A flask that does not move needs all that it names; the others are history."""
    flask, path = plan.flasks[index], ("previous", "flasks", index)
    load = next((load for load in plan.loads if load.id == flask.load), None)
    problems = [
        *_missing((*path, "size"), flask.size, known["sizes"], "flask size"),
        *_missing((*path, "machine"), flask.machine, known["machines"], "machine"),
        *_missing((*path, "investment"), flask.investment, known["investments"], "investment"),
    ]
    for r, ring in enumerate(flask.rings):
        for p, (job, _) in enumerate(ring.pieces):
            problems += _missing((*path, "rings", r, "pieces", p), job, known["jobs"], "job")
    if load is None:
        return [*problems, ((*path, "load"), f"there is no kiln load “{flask.load}” in the plan")]
    load_path = ("previous", "loads", plan.loads.index(load))
    return [
        *problems,
        *_missing((*load_path, "kiln"), load.kiln, known["kilns"], "kiln"),
        *_missing((*load_path, "program"), load.program, known["programs"], "program"),
    ]
