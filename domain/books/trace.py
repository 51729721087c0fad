"""Where metal came from and where it went, through melts, returns and lots, to the nanogram.

A lot or a melt is taken for well mixed: what leaves it is made of everything that came in, in proportion
to what is left of each. Shares are split by largest remainders, so that no nanogram is lost on the way.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from domain.books.accounts import OWNED, Account
from domain.books.content import NANOGRAMS, shared
from domain.books.entries import Posting
from domain.units import Mass

K = TypeVar("K")

MOST_STEPS = 2_000
"""A trace that branches further is cut off and says so."""


class Ledger(Protocol):
    """The standing entries of the books; their numbers rise with time."""

    def moves(self, account: Account) -> Sequence[tuple[int, int]]:
        """Entries that touch an account, the oldest first: number and milligrams that came in (went out
        below nothing)."""
        ...

    def before(self, account: Account, entry: int) -> tuple[int, Iterator[tuple[int, int]]]:
        """The milligrams that an account held before an entry, and its moves before it, the latest first."""
        ...

    def postings(self, entry: int, soon: Iterable[int]) -> tuple[Posting, ...]:
        """The postings of an entry; those of ``soon`` will be asked for next."""
        ...


AT_ONCE = 200
"""entries that are asked for together"""


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


def back_from(account: Account, ledger: Ledger) -> Trace:
    """Where all that came into an account came from: the latest step first."""
    came = {entry: mass * NANOGRAMS for entry, mass in ledger.moves(account) if mass > 0}
    steps: list[Step] = []
    # by entry and account: how much of what the entry brought into the account is asked for
    asked: defaultdict[tuple[int, Account], int] = defaultdict(int, {(-e, account): amount for e, amount in came.items()})
    queue = sorted(asked)[: MOST_STEPS + 1]  # each makes a step at least
    while queue and len(steps) < MOST_STEPS:
        at, target = heapq.heappop(queue)
        postings = ledger.postings(-at, _next(queue))
        out = _out_of(postings)
        for source, amount in _split(out, asked.pop((at, target))).items():
            steps.append(Step(entry=-at, source=source, target=target, nanograms=amount))
            for inflow, part in _made_of(ledger, source, -at, amount).items():
                if (-inflow, source) not in asked:
                    heapq.heappush(queue, (-inflow, source))
                asked[-inflow, source] += part
    return Trace(account=account, mass=Mass(sum(came.values()) // NANOGRAMS), steps=tuple(steps), whole=not queue)


def _next(queue: list[tuple[int, Account]]) -> Iterator[int]:
    """The entries that will be asked for next; worked out only where somebody wants to know."""
    yield from (-entry for entry, _ in heapq.nsmallest(AT_ONCE, queue))


def _made_of(ledger: Ledger, account: Account, before: int, amount: int) -> dict[int, int]:
    """By entry that brought it in, what ``amount`` is made of that left ``account`` with entry ``before``."""
    if account.kind not in OWNED:
        return {}
    whole, earlier = ledger.before(account, before)
    # read backwards: of what was there after an entry, the part ``left`` was still there in the end
    weights: dict[int, int] = {}
    there, left = whole, 1.0
    for entry, mass in earlier:
        if mass > 0:
            weights[entry] = round(mass * left * NANOGRAMS)
        elif mass < 0:
            left *= max(0, there) / (there - mass)
        there -= mass
        if there <= 0 or there * left * amount < whole / 2:
            break  # it was empty, or what is older is less than half a nanogram
    return _split({e: w for e, w in weights.items() if w}, amount)


def forth_from(account: Account, ledger: Ledger) -> Trace:
    """Where all that ever came into an account went: the earliest step first."""
    return _Forward(account, ledger).run()


class _Forward:
    """``held``: milligrams in each account that is followed; ``marked``: nanograms of it that are followed. ``own``:
    entries of the account that it began with, ``done`` of which were passed on; ``queue``: the others."""

    def __init__(self, account: Account, ledger: Ledger) -> None:
        self.account, self.ledger = account, ledger
        self.held: dict[Account, int] = {account: 0}
        self.marked: defaultdict[Account, int] = defaultdict(int)
        self.own, self.done = [entry for entry, _ in ledger.moves(account)], 0
        self.queue: list[int] = []
        self.known = set(self.own)
        self.steps: list[Step] = []

    def run(self) -> Trace:
        came = sum(mass for _, mass in self.ledger.moves(self.account) if mass > 0)
        while self._waiting() and len(self.steps) < MOST_STEPS:
            entry = self._earliest()
            self._pass_on(entry, self.ledger.postings(entry, self._next()))
        return Trace(account=self.account, mass=Mass(came), steps=tuple(self.steps), whole=not self._waiting())

    def _waiting(self) -> bool:
        return self.done < len(self.own) or bool(self.queue)

    def _earliest(self) -> int:
        if self.queue and (self.done == len(self.own) or self.queue[0] < self.own[self.done]):
            return heapq.heappop(self.queue)
        self.done += 1
        return self.own[self.done - 1]

    def _next(self) -> Iterator[int]:
        """The entries that will be asked for next; worked out only where somebody wants to know."""
        yield from heapq.nsmallest(AT_ONCE, [*self.own[self.done : self.done + AT_ONCE], *self.queue])

    def _pass_on(self, entry: int, postings: tuple[Posting, ...]) -> None:
        targets = _into(postings)
        for source, out in _out_of(postings).items():
            if source in self.held:
                for target, amount in _split(targets, self._leaving(source, out)).items():
                    self.steps.append(Step(entry=entry, source=source, target=target, nanograms=amount))
                    self.marked[target] += amount
                    self._watch(target, entry)
                self.held[source] = max(0, self.held[source] - out)
        for target, come in targets.items():
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
        moves = self.ledger.moves(account)
        self.held[account] = sum(mass for entry, mass in moves if entry < since)
        for entry in (entry for entry, _ in moves if entry > since and entry not in self.known):
            self.known.add(entry)
            heapq.heappush(self.queue, entry)


def _split(amounts: Mapping[K, int], total: int) -> dict[K, int]:
    """``total`` shared out in proportion; nothing where there is nothing to share by."""
    names = {f"{number:06d}": key for number, key in enumerate(amounts)}
    if not amounts:
        return {}
    found = shared({name: amounts[key] for name, key in names.items()}, total)
    return {names[name]: amount for name, amount in found.items()}


def _out_of(postings: Iterable[Posting]) -> dict[Account, int]:
    """By account, the milligrams that left it."""
    return {account: -mass for account, mass in _net(postings).items() if mass < 0}


def _into(postings: Iterable[Posting]) -> dict[Account, int]:
    return {account: mass for account, mass in _net(postings).items() if mass > 0}


def _net(postings: Iterable[Posting]) -> Mapping[Account, int]:
    sums: defaultdict[Account, int] = defaultdict(int)
    for posting in postings:
        sums[posting.account] += posting.content.mass.base
    return sums
