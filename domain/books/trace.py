"""Where metal came from and where it went, through melts, returns and lots, to the nanogram.

A lot or a melt is taken for well mixed: what leaves it is made of everything that came in, in proportion
to what is left of each. Shares are split by largest remainders, so that no nanogram is lost on the way.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from domain.books.accounts import OWNED, Account
from domain.books.content import NANOGRAMS, shared
from domain.books.entries import Posting
from domain.units import Mass

MOST_STEPS = 2_000
"""A trace that branches further is cut off and says so."""


class Traced(Protocol):
    """An entry of the books; ids rise with time."""

    @property
    def id(self) -> int: ...

    @property
    def postings(self) -> tuple[Posting, ...]: ...


History = Callable[[Account], Sequence[Traced]]
"""The standing entries of an account, the oldest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """In ``entry``, ``nanograms`` of the metal that is followed moved from one account to another."""

    entry: int
    source: Account
    target: Account
    nanograms: int

    @property
    def mass(self) -> Mass:
        """To the nearest milligram."""
        return Mass(round(self.nanograms / NANOGRAMS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """``mass`` of ``account`` followed. ``whole``: false where it branches too far to be told to its end."""

    account: Account
    mass: Mass
    steps: tuple[Step, ...]
    whole: bool = True

    def ends(self, *, back: bool) -> dict[Account, int]:
        """Nanograms by the accounts where the trace ends: where it all came from, or where it is now."""
        left: defaultdict[Account, int] = defaultdict(int)
        left[self.account] += self.mass.base * NANOGRAMS
        for step in self.steps:
            near, far = (step.target, step.source) if back else (step.source, step.target)
            left[near] -= step.nanograms
            left[far] += step.nanograms
        return {account: amount for account, amount in left.items() if amount > 0}


def back_from(account: Account, history: History) -> Trace:
    """Where all that came into an account came from: the latest step first."""
    entries = _cached(history)
    came = {e.id: _moved(e, account) * NANOGRAMS for e in entries(account) if _moved(e, account) > 0}
    steps: list[Step] = []
    # by entry and account: how much of what the entry brought into the account is asked for
    asked: defaultdict[tuple[int, Account], int] = defaultdict(int, {(-e, account): amount for e, amount in came.items()})
    queue = list(asked)
    heapq.heapify(queue)
    while queue and len(steps) < MOST_STEPS:
        at, target = heapq.heappop(queue)
        found = next(e for e in entries(target) if e.id == -at)
        for name, amount in shared(_out_of(found), asked.pop((at, target))).items():
            source = _of(found, name)
            steps.append(Step(entry=found.id, source=source, target=target, nanograms=amount))
            for inflow, part in _made_of(entries, source, found.id, amount).items():
                if (-inflow, source) not in asked:
                    heapq.heappush(queue, (-inflow, source))
                asked[-inflow, source] += part
    return Trace(account=account, mass=Mass(sum(came.values()) // NANOGRAMS), steps=tuple(steps), whole=not queue)


def _made_of(entries: History, account: Account, before: int, amount: int) -> dict[int, int]:
    """By entry that brought it in, what ``amount`` is made of that left ``account`` with entry ``before``."""
    if account.kind not in OWNED:
        return {}
    held: dict[str, int] = {}
    for entry in entries(account):
        if entry.id >= before:
            break
        moved = _moved(entry, account) * NANOGRAMS
        if moved > 0:
            held[str(entry.id)] = moved
        elif moved < 0:
            held = shared(held, max(0, sum(held.values()) + moved)) if held else {}
    return {int(entry): part for entry, part in shared(held, amount).items()} if held else {}


def forth_from(account: Account, history: History) -> Trace:
    """Where all that ever came into an account went: the earliest step first."""
    return _Forward(account, _cached(history)).run()


class _Forward:
    """``held``: milligrams in each account that is followed; ``marked``: nanograms of it that are followed."""

    def __init__(self, account: Account, entries: History) -> None:
        self.account, self.entries = account, entries
        self.held: dict[Account, int] = {account: 0}
        self.marked: defaultdict[Account, int] = defaultdict(int)
        self.known: dict[int, Traced] = {e.id: e for e in entries(account)}
        self.queue = sorted(self.known)
        self.steps: list[Step] = []

    def run(self) -> Trace:
        came = sum(_moved(e, self.account) for e in self.known.values() if _moved(e, self.account) > 0)
        while self.queue and len(self.steps) < MOST_STEPS:
            self._pass_on(self.known[heapq.heappop(self.queue)])
        return Trace(account=self.account, mass=Mass(came), steps=tuple(self.steps), whole=not self.queue)

    def _pass_on(self, entry: Traced) -> None:
        targets = _into(entry)
        for name, out in _out_of(entry).items():
            source = _of(entry, name)
            if source not in self.held:
                continue
            gone = self._leaving(source, out)
            for towards, amount in shared(targets, gone).items():
                into = _of(entry, towards)
                self.steps.append(Step(entry=entry.id, source=source, target=into, nanograms=amount))
                self.marked[into] += amount
                self._watch(into, entry.id)
            self.held[source] = max(0, self.held[source] - out)
        for name, come in targets.items():
            target = _of(entry, name)
            if target in self.held:
                self.held[target] += come
            if target == self.account:
                self.marked[target] = self.held[target] * NANOGRAMS

    def _leaving(self, source: Account, out: int) -> int:
        held, marked = self.held[source], self.marked[source]
        gone = marked if out >= held else marked * out // held
        self.marked[source] -= gone
        return gone

    def _watch(self, account: Account, since: int) -> None:
        if account in self.held or account.kind not in OWNED:
            return
        self.held[account] = sum(_moved(e, account) for e in self.entries(account) if e.id < since)
        for entry in self.entries(account):
            if entry.id > since and entry.id not in self.known:
                self.known[entry.id] = entry
                heapq.heappush(self.queue, entry.id)


def _cached(history: History) -> History:
    seen: dict[Account, Sequence[Traced]] = {}

    def entries(account: Account) -> Sequence[Traced]:
        if account not in seen:
            seen[account] = history(account)
        return seen[account]

    return entries


def _moved(entry: Traced, account: Account) -> int:
    """Milligrams that came into the account, below nothing where they left it."""
    return sum(p.content.mass.base for p in entry.postings if p.account == account)


def _out_of(entry: Traced) -> dict[str, int]:
    """By account, the milligrams that left it."""
    return {name: -mass for name, mass in _net(entry.postings).items() if mass < 0}


def _into(entry: Traced) -> dict[str, int]:
    return {name: mass for name, mass in _net(entry.postings).items() if mass > 0}


def _net(postings: Iterable[Posting]) -> Mapping[str, int]:
    sums: defaultdict[str, int] = defaultdict(int)
    for posting in postings:
        sums[str(posting.account)] += posting.content.mass.base
    return sums


def _of(entry: Traced, name: str) -> Account:
    return next(p.account for p in entry.postings if str(p.account) == name)
