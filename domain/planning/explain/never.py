"""What keeps a job out of every plan, whatever the calendar says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from domain.mould.rings import TreePiece, explain_alone
from domain.planning.baseline.drafts import Draft, draft
from domain.planning.baseline.trees import Trees
from domain.planning.explain.changes import AllowSplit, Change
from domain.planning.explain.words import day_words
from domain.planning.problem import Melt, PlanJob
from domain.saying import listed, say
from domain.units import Mass


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """``rule``: 1 to 11 of the trade's rules. ``reason`` names the job and what is in its way, ``remedy``
    what would mend it; ``change`` is the same as a value, where it can be tried."""

    rule: int
    reason: str
    remedy: str
    change: Change | None = None


def never(trees: Trees, job: PlanJob) -> Reason | None:
    """The first thing that no day can mend; none where the job can be cast on some day."""
    tests: tuple[Callable[[Trees, PlanJob, Melt], Reason | None], ...] = (
        _nobody, _no_machine, _no_investment, _no_tree, _no_crucible, _no_burnout, _not_ready, _no_metal,
    )  # fmt: skip
    melt = trees.problem.melt[job.melt]
    return next((reason for test in tests if (reason := test(trees, job, melt))), None)


def together(job: PlanJob) -> int:
    """The fewest pieces that one flask must take."""
    return 1 if job.may_split else job.quantity


def _nobody(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:  # noqa: ARG001 - one signature for all
    if any(s.casts for s in trees.problem.shifts):
        return None
    return Reason(
        rule=8,
        reason=say("Job {job}: nobody who casts has a shift in the days planned", job=job.name),
        remedy=say("Give a caster a shift, or plan further ahead."),
    )


def _no_machine(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:
    alloy = melt.alloy.name
    if not melt.machines:
        ways = listed(sorted(melt.alloy.heat), say(" or "))
        return Reason(
            rule=1,
            reason=say(
                "Job {job}: no machine in service melts {alloy}, which is melted by {ways}", job=job.name, alloy=alloy, ways=ways
            ),
            remedy=say("Put a machine that melts by {ways} into service, or cast the job elsewhere.", ways=ways),
        )
    if any(trees.machines(melt.key, s.id) for s in trees.problem.shop.sizes if s.owned > 0):
        return None
    return Reason(
        rule=4,
        reason=say("Job {job}: no flask that the shop owns fits a machine that melts {alloy}", job=job.name, alloy=alloy),
        remedy=say("Enter a flask size that the machine takes, or another machine."),
    )


def _no_investment(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:  # noqa: ARG001 - one signature for all
    if melt.investments:
        return None
    return Reason(
        rule=7,
        reason=say("Job {job}: none of the shop's investments suits {alloy}", job=job.name, alloy=melt.alloy.name),
        remedy=say("Stock an investment that suits {alloy}; its supplier's data sheet says which.", alloy=melt.alloy.name),
    )


def _sizes(trees: Trees, job: PlanJob) -> list[str]:
    return [s.id for s in trees.problem.shop.sizes if s.owned > 0 and trees.machines(job.melt, s.id)]


def _no_tree(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:  # noqa: ARG001 - one signature for all
    count = together(job)
    sizes = _sizes(trees, job)
    if any(trees.fits_tree(s, {job.id: count}) for s in sizes):
        return None
    biggest = max((trees.problem.size[s] for s in sizes), key=lambda s: (s.inner_diameter, s.height))
    piece = TreePiece(job.id, job.size, count, job.metal_each, job.per_tree.get(biggest.id))
    what = explain_alone(piece, biggest, trees.problem.rules) or say("a {biggest} flask has no room", biggest=biggest.name)
    whole = "" if job.may_split else say(" (its {count} pieces may not be split)", count=count)
    return Reason(
        rule=3,
        reason=say("Job {job} fits no flask that the shop owns{whole}: {what}", job=job.name, whole=whole, what=what),
        remedy=say("Use a larger flask, set the pattern another way round, or cast it in parts.")
        if job.may_split
        else say("Allow the job to be split, or use a larger flask."),
        change=None if job.may_split else AllowSplit(job.id),
    )


def _no_crucible(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:
    count = together(job)
    sizes = [s for s in _sizes(trees, job) if trees.fits_tree(s, {job.id: count})]
    if any(trees.machines_for(job.melt, s, {job.id: count}) for s in sizes):
        return None
    charge = min((trees.charge(job.melt, s, {job.id: count}) for s in sizes), default=Mass(0))
    return Reason(
        rule=4,
        reason=_too_heavy(job.name, count, charge, melt.alloy.name),
        remedy=say("Use a machine with a larger crucible.")
        if job.may_split
        else say("Use a machine with a larger crucible, or allow the job to be split."),
        change=None if job.may_split else AllowSplit(job.id),
    )


def _too_heavy(job: str, count: int, charge: Mass, alloy: str) -> str:
    wants = charge.decimal("g", 1)
    if count == 1:
        return say(
            "Job {job}: {count} piece with trunk and button wants {wants} g, more than a crucible for {alloy} holds",
            job=job,
            count=count,
            wants=wants,
            alloy=alloy,
        )
    return say(
        "Job {job}: {count} pieces with trunk and button want {wants} g, more than a crucible for {alloy} holds",
        job=job,
        count=count,
        wants=wants,
        alloy=alloy,
    )


def drafts_of(trees: Trees, job: PlanJob, count: int) -> list[Draft]:
    """The job alone in each size that takes ``count`` of it."""
    contents = {job.id: count}
    fitting = [s.id for s in trees.usable_sizes(job.melt) if trees.fits(job.melt, s.id, contents)]
    return [d for s in fitting if (d := draft(trees, "probe", job.melt, s, contents))]


def _no_burnout(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:
    if drafts_of(trees, job, together(job)):
        return None
    sizes = [s for s in _sizes(trees, job) if trees.fits(job.melt, s, {job.id: together(job)})]
    if not any(trees.kilns_for(s) for s in sizes):
        return Reason(
            rule=7,
            reason=say("Job {job}: no kiln in service holds the flask that it needs", job=job.name),
            remedy=say("Put a kiln with a higher chamber or a larger floor into service."),
        )
    hot = job.burnout_peak.celsius()
    return Reason(
        rule=7,
        reason=say(
            "Job {job}: no program that a kiln can run burns its pattern out ({burnout_minutes} minutes "
            "to {hot} °C at least) within what an investment for {alloy} bears",
            job=job.name,
            burnout_minutes=job.burnout_minutes,
            hot=hot,
            alloy=melt.alloy.name,
        ),
        remedy=say("Enter a program that is long and hot enough, or use another pattern material."),
    )


def _not_ready(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:  # noqa: ARG001 - one signature for all
    if job.ready < trees.problem.end:
        return None
    day = day_words(trees.problem.clock.day_of(job.ready))
    return Reason(
        rule=6,
        reason=say("Job {job}: its patterns are ready on {day}, after the last day planned", job=job.name, day=day),
        remedy=say("Get the patterns sooner, or plan further ahead."),
    )


def _no_metal(trees: Trees, job: PlanJob, melt: Melt) -> Reason | None:
    least = min(d.charge for d in drafts_of(trees, job, together(job)))
    if melt.order_from is not None and melt.order_from < trees.problem.end:
        return None
    if least <= melt.stock_castable.base:
        return None
    here, wanted = melt.stock_castable.decimal("g", 1), Mass(least).decimal("g", 1)
    if melt.own_lot:
        remedy = say("Ask the customer for more of their metal.")
    elif melt.order_from is None:
        remedy = say("Find a supplier for the metals of {alloy}.", alloy=melt.alloy.name)
    else:
        remedy = say("Order now and plan further ahead, or find a supplier who delivers sooner.")
    return Reason(
        rule=9,
        reason=say(
            "Job {job}: its flask wants {wanted} g of {alloy}, the shelf can make {here} g and no more "
            "can be here in the days planned",
            job=job.name,
            wanted=wanted,
            alloy=melt.alloy.name,
            here=here,
        ),
        remedy=remedy,
    )
