"""Trying changes on the week, and keeping the one that is wanted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, replace
from datetime import date
from itertools import chain
from typing import Any

from domain.errors import DomainError
from domain.planning.check import check
from domain.saying import say
from domain.shop.jobs import Job
from domain.sources import Mark, Source
from domain.week.build import problem_of
from domain.week.side_by_side import Side
from domain.week.week import Week
from domain.week.what_if import (
    Away,
    Change,
    KilnBack,
    KilnDown,
    MetalBy,
    MoreFlasks,
    NightLoads,
    Overtime,
    PutOff,
    TakeJob,
    changed,
    words,
)
from domain.week.what_if_more import (
    AlloyMetalBy,
    AnotherKiln,
    AnotherMachine,
    DueOn,
    LongerDay,
    LookAhead,
    MaySplit,
    PatternsBy,
    WorksOn,
)
from webapp.actions import jobs
from webapp.actions.planning import Desk, load_desk
from webapp.exchange.documents import JobDocument
from webapp.forms import read_form
from webapp.forms.durations import read_minutes
from webapp.settings import Settings
from webapp.solving.messages import Answer, Ask
from webapp.solving.runner import Runner
from webapp.solving.trials import Trial, Trials
from webapp.store import nouns
from webapp.store.engine import Database, Session
from webapp.store.week import held_back, load_week, save_plan

TRYING = "what if"
"""The runner's key: a trial may be planned while the week itself is."""

SECONDS = 10
"""that the planner has for a trial"""

OWN = Source(Mark.SHOP)


class WrongField(DomainError):
    """``errors``: messages by the field of the form."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(say("Something in the form cannot be read; what you typed is still here."))
        self.errors = dict(errors)


def changes_typed(session: Session, desk: Desk, typed: Mapping[str, str]) -> tuple[Change, ...]:
    """The changes that a form asks for. Raises ``WrongField`` for what cannot be read, and ``DomainError``
    when it asks for nothing."""
    changes = tuple(chain(_of_shop(typed), _of_jobs(session, desk, typed)))
    if not changes:
        raise DomainError(say("Choose at least one change to try."))
    return changes


def _of_shop(typed: Mapping[str, str]) -> Iterator[Change]:
    def given(name: str) -> str:
        return typed.get(name, "").strip()

    if given("night"):
        yield NightLoads(kiln=given("night"), day=_day(typed, "night_day") if given("night_day") else None)
    if given("back"):
        yield KilnBack(kiln=given("back"))
    if given("down"):
        first = _day(typed, "down_first")
        yield KilnDown(kiln=given("down"), first=first, last=_day(typed, "down_last", first))
    if given("flask"):
        yield MoreFlasks(size=given("flask"), count=_count(typed, "flask_count"))
    if given("away"):
        first = _day(typed, "away_first")
        yield Away(person=given("away"), first=first, last=_day(typed, "away_last", first))
    if given("works"):
        yield WorksOn(person=given("works"), day=_day(typed, "works_day"))
    if given("overtime") and given("overtime_day"):
        yield LongerDay(minutes=_minutes(typed, "overtime"), day=_day(typed, "overtime_day"))
    elif given("overtime"):
        yield Overtime(minutes=_minutes(typed, "overtime"))
    if given("metal"):
        yield MetalBy(metal=given("metal"), day=_day(typed, "metal_day"))
    if given("melt"):
        yield AlloyMetalBy(alloy=given("melt"), day=_day(typed, "melt_day"))
    if given("kiln_like"):
        yield AnotherKiln(like=given("kiln_like"))
    if given("machine_like"):
        yield AnotherMachine(like=given("machine_like"))
    if given("ahead"):
        yield LookAhead(days=_count(typed, "ahead"))


def _of_jobs(session: Session, desk: Desk, typed: Mapping[str, str]) -> Iterator[Change]:
    if held := typed.get("take", ""):
        job = next((job for job in held_back(session, desk.now) if job.id == held), None)
        if job is None:
            raise WrongField({"take": say("this job is not in the archive any more")})
        yield TakeJob(job=job)
    if typed.get("item", "").strip():
        read = read_form(JobDocument, typed, {"id": jobs.next_number(session)})
        if read.errors:
            raise WrongField(read.errors)
        yield TakeJob(job=read.value)
    if put_off := typed.get("put_off", ""):
        yield PutOff(job=put_off)
    if patterns := typed.get("patterns", ""):
        yield PatternsBy(job=patterns, day=_day(typed, "patterns_day"))
    if agreed := typed.get("agreed", ""):
        yield DueOn(job=agreed, day=_day(typed, "agreed_day"))
    if split := typed.get("split", ""):
        yield MaySplit(job=split)


def _day(typed: Mapping[str, str], name: str, otherwise: str = "") -> str:
    text = typed.get(name, "").strip() or otherwise
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        raise WrongField({name: say("give a day")}) from None


def _count(typed: Mapping[str, str], name: str) -> int:
    text = typed.get(name, "").strip() or "1"
    if not (text.isascii() and text.isdecimal() and 0 < int(text) <= 100):
        raise WrongField({name: say("give a number from 1 to 100")})
    return int(text)


def _minutes(typed: Mapping[str, str], name: str) -> int:
    minutes = read_minutes(typed.get(name, ""))
    if minutes is None or minutes > 480:
        raise WrongField({name: say("give at most 8 hours, like 3 h or 90 min")})
    return minutes


def begin(db: Database, runner: Runner, trials: Trials, settings: Settings, typed: Mapping[str, str]) -> None:
    """Plans the week as it would be. Raises ``DomainError`` where there is no plan to compare with, the
    changes cannot be made, or another trial is being planned."""
    with db.read() as session:
        desk = load_desk(session, settings)
        changes = changes_typed(session, desk, typed)
    if desk.stored is None:
        raise DomainError(say("There is no plan to compare with yet. Plan the week first."))
    problem = problem_of(changed(desk.week, changes))
    trial = Trial(
        changes=changes,
        words=words(desk.week, changes),
        asked=desk.now,
        base=desk.stored.version,
        before=Side(problem=desk.problem, plan=desk.open_plan),
    )

    def keep(answer: Answer) -> int:
        trials.finish(trial.key, Side(problem=problem, plan=answer.plan))
        return trial.base

    earlier = trials.current
    trials.begin(trial)
    try:
        runner.start(TRYING, Ask(problem=problem, seconds=SECONDS), keep)
    except DomainError:
        trials.begin(earlier)
        raise


def keep(db: Database, settings: Settings, trials: Trials, key: str) -> tuple[str, ...]:
    """Makes the changes and saves the plan, both or neither; returns the changes in words.

    Raises ``DomainError`` when the week is another than the one that was tried.
    """
    trial = trials.current
    if trial is None or trial.after is None or trial.key != key:
        raise DomainError(say("This trial is over. Try the change again."))
    with db.write() as session:
        _must_be_the_same(load_desk(session, settings), trial)
        before = load_week(session, trial.asked)
        after = changed(before, trial.changes)
        wrong = check(problem_of(after), trial.after.plan)
        if wrong:
            raise DomainError(say("The week has changed since it was tried ({message}). Try it again.", message=wrong[0].message))
        _save_changes(session, before, after)
        save_plan(session, trial.after.plan, trial.asked, note=f"tried first: {'; '.join(trial.words)}")
    trials.begin(None)
    return trial.words


def _must_be_the_same(desk: Desk, trial: Trial) -> None:
    if desk.stored is None or desk.stored.version != trial.base:
        raise DomainError(say("There is a newer plan than the one that the trial was compared with. Try it again."))
    if desk.now.date() != trial.asked.date():
        raise DomainError(say("The trial was made on another day. Try it again."))


def _save_changes(session: Session, before: Week, after: Week) -> None:
    """What the changes made different, and nothing else."""
    old = {(type(thing), thing.id): thing for thing in _things(before)}
    for thing in _things(after):
        known = old.get((type(thing), thing.id))
        if known is None:
            nouns.add(session, thing)
        elif thing != known:
            nouns.put(session, _marked(known, thing))
    if after.shop.rules != before.shop.rules:
        nouns.put(session, after.shop.rules)
    _save_jobs(session, {job.id: job for job in before.jobs}, {job.id: job for job in after.jobs})


def _things(week: Week) -> Iterator[Any]:
    return chain(week.shop.kilns, week.shop.machines, week.shop.sizes, week.shop.people, week.shop.metals)


def _save_jobs(session: Session, before: Mapping[str, Job], after: Mapping[str, Job]) -> None:
    for job in before.keys() - after.keys():
        jobs.archive(session, job)
    for job in after.keys() - before.keys():
        # a job from the archive keeps what was ordered of it; the week knows only what is still to cast
        if not nouns.restore(session, Job, job):
            nouns.add(session, after[job])
    for job in before.keys() & after.keys():
        if before[job] != after[job]:
            _change_job(session, before[job], after[job])


def _change_job(session: Session, before: Job, after: Job) -> None:
    """What the change made different, in the job as it was ordered."""
    ordered = nouns.find(session, Job, before.id)
    if ordered is not None:
        names = [f.name for f in fields(after) if getattr(before, f.name) != getattr(after, f.name)]
        nouns.put(session, replace(ordered, **{name: getattr(after, name) for name in names}))


def _marked(old: Any, new: Any) -> Any:
    """A number that was changed is from now on the shop's own."""
    if not hasattr(new, "sources"):
        return new
    names = [f.name for f in fields(new) if f.name != "sources" and getattr(old, f.name) != getattr(new, f.name)]
    return replace(new, sources={**old.sources, **dict.fromkeys(names, OWN)})
