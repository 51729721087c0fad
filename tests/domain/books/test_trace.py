"""Where metal came from and where it went."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from domain.books.accounts import Account, AccountKind, lot, melt, returns
from domain.books.content import NANOGRAMS, content_of
from domain.books.entries import Posting
from domain.books.trace import back_from, forth_from
from domain.units import Mass, Share

SUPPLIER = Account(AccountKind.SUPPLIER, "silver")
SILVER = {"Ag": Share.percent(100)}


@dataclass(frozen=True)
class Entry:
    id: int
    postings: tuple[Posting, ...]


def _books(*moves: Mapping[Account, int]) -> tuple[Entry, ...]:
    """Entries of grams by account."""
    return tuple(
        Entry(n, tuple(Posting(account, content_of(Mass.g(grams), SILVER)) for account, grams in move.items()))
        for n, move in enumerate(moves, 1)
    )


@dataclass(frozen=True)
class Story:
    entries: Sequence[Entry]

    def moves(self, account: Account) -> list[tuple[int, int]]:
        found = [(e.id, [p.content.mass.base for p in e.postings if p.account == account]) for e in self.entries]
        return [(number, sum(masses)) for number, masses in found if masses]

    def before(self, account: Account, entry: int) -> tuple[int, Iterator[tuple[int, int]]]:
        earlier = [move for move in self.moves(account) if move[0] < entry]
        return sum(mass for _, mass in earlier), reversed(earlier)

    def postings(self, entry: int, soon: Iterable[int]) -> tuple[Posting, ...]:
        assert all(any(e.id == number for e in self.entries) for number in soon)
        return next(e.postings for e in self.entries if e.id == entry)


def _history(entries: Sequence[Entry]) -> Story:
    return Story(entries)


JOB = Account(AccountKind.JOB, "J1")
LATER = Account(AccountKind.JOB, "J2")
LOSS = Account(AccountKind.LOSS, "F1")
STORY = _books(
    {SUPPLIER: -100, lot("A"): 100},
    {SUPPLIER: -50, lot("B"): 50},
    {lot("A"): -30, lot("B"): -10, melt("F1"): 40},
    {melt("F1"): -40, JOB: 24, returns("F1"): 15, LOSS: 1},
    {returns("F1"): -15, lot("R-F1"): 15},
    {lot("R-F1"): -15, lot("A"): -15, melt("F2"): 30},
    {melt("F2"): -30, LATER: 30},
)


def _grams(amounts: Mapping[Account, int]) -> dict[str, Fraction]:
    return {str(account): Fraction(amount, NANOGRAMS * 1000) for account, amount in amounts.items()}


def test_a_piece_is_traced_to_its_lots_in_proportion() -> None:
    trace = back_from(JOB, _history(STORY))
    assert trace.mass == Mass.g(24)
    into_melt = {str(s.source): s.mass for s in trace.steps if s.target == melt("F1")}
    assert into_melt == {"lot A": Mass.g(18), "lot B": Mass.g(6)}
    assert _grams(trace.ends(back=True)) == {"supplier silver": 24}


def test_returns_are_traced_through_the_melt_that_they_come_from() -> None:
    trace = back_from(LATER, _history(STORY))
    from_a = sum(s.nanograms for s in trace.steps if s.source == lot("A"))
    from_b = sum(s.nanograms for s in trace.steps if s.source == lot("B"))
    assert (from_a, from_b) == (26_250_000_000, 3_750_000_000)
    assert _grams(trace.ends(back=True)) == {"supplier silver": 30}


def test_a_lot_is_traced_to_pieces_losses_and_what_is_left() -> None:
    trace = forth_from(lot("B"), _history(STORY))
    assert _grams(trace.ends(back=False)) == {
        "lot B": 40,
        "job J1": 6,
        "loss F1": Fraction(1, 4),
        "job J2": Fraction(15, 4),
    }


def test_a_lot_that_was_filled_twice_gives_of_both() -> None:
    other = Account(AccountKind.SUPPLIER, "other")
    story = _books(
        {SUPPLIER: -100, lot("A"): 100},
        {lot("A"): -50, melt("F1"): 50},
        {other: -150, lot("A"): 150},
        {lot("A"): -100, melt("F2"): 100},
        {melt("F2"): -100, JOB: 100},
    )
    trace = back_from(JOB, _history(story))
    assert _grams(trace.ends(back=True)) == {"supplier silver": 25, "supplier other": 75}


def test_a_lot_that_went_round_in_a_circle_comes_to_an_end() -> None:
    story = _books(
        {SUPPLIER: -100, lot("A"): 100},
        {lot("A"): -60, melt("F1"): 60},
        {melt("F1"): -60, lot("A"): 40, JOB: 20},
        {lot("A"): -80, melt("F2"): 80},
        {melt("F2"): -80, LATER: 80},
    )
    history = _history(story)
    assert _grams(back_from(LATER, history).ends(back=True)) == {"supplier silver": 80}
    there = forth_from(lot("A"), history)
    assert sum(s.nanograms for s in there.steps if s.target in (JOB, LATER)) == 100_000 * NANOGRAMS


def test_a_lot_that_was_drawn_on_and_filled_for_years_gives_of_its_last_fillings_and_not_a_nanogram_is_lost() -> None:
    moves: list[dict[Account, int]] = [{SUPPLIER: -100, lot("A"): 100}]
    for _ in range(2_000):
        moves += [{lot("A"): -90, LATER: 90}, {SUPPLIER: -90, lot("A"): 90}]
    moves.append({lot("A"): -100, JOB: 100})
    trace = back_from(JOB, _history(_books(*moves)))
    assert _grams(trace.ends(back=True)) == {"supplier silver": 100}
    latest = max(step.entry for step in trace.steps if step.source == SUPPLIER)
    assert sum(s.nanograms for s in trace.steps if s.entry == latest) == 90_000 * NANOGRAMS
