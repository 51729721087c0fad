"""Whether the books hold: every entry balances, and every balance is the sum of its postings."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator

from sqlalchemy import text

from domain.books.content import NANOGRAMS
from webapp.store.engine import Session

OWES = ("supplier", "customer", "adjustment")


def broken(session: Session) -> tuple[str, ...]:
    """What is wrong with the books, in words; nothing where they hold."""
    sums, wrong = _added_up(session)
    wrong += _differing(sums, _stored(session, "SELECT account, ref, mass, elements FROM ledger_balance"))
    for kind, table, key in (("lot", "lot", "id"), ("powder", "powder", "investment")):
        rows = session.connection().execute(text(f"SELECT {key}, mass FROM {table}")).all()
        wrong += [
            f"{kind} {ref} shows {mass} mg, its account holds {sums[kind, ref]['']}"
            for ref, mass in rows
            if sums[kind, ref][""] != mass
        ]
    return tuple(wrong)


def rebuilt(session: Session) -> dict[tuple[str, str], dict[str, int]]:
    """By account kind and ref, the mass in milligrams (under no name) and each element in nanograms, from
    the postings alone."""
    return {account: {e: n for e, n in sums.items() if n or not e} for account, sums in _added_up(session)[0].items()}


def _added_up(session: Session) -> tuple[defaultdict[tuple[str, str], defaultdict[str, int]], list[str]]:
    sums: defaultdict[tuple[str, str], defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))
    wrong: list[str] = []
    for entry, postings in _by_entry(session):
        total: defaultdict[str, int] = defaultdict(int)
        for account, ref, mass, elements in postings:
            if sum(elements.values()) != mass * NANOGRAMS:
                wrong.append(f"entry {entry}: the elements in {account} {ref} do not add up to its mass")
            for element, amount in (("", mass), *elements.items()):
                total[element] += amount
                sums[account, ref][element] += amount
        wrong += [f"entry {entry} does not balance in {element or 'mass'}" for element, amount in total.items() if amount]
    return sums, wrong


Row = tuple[str, str, int, dict[str, int]]


def _by_entry(session: Session) -> Iterator[tuple[int, list[Row]]]:
    query = text("SELECT entry, account, ref, mass, elements FROM ledger_posting ORDER BY entry, line")
    current, rows = 0, []  # type: int, list[Row]
    for entry, account, ref, mass, elements in session.connection().execute(query, execution_options={"yield_per": 5000}):
        if entry != current and rows:
            yield current, rows
            rows = []
        current = entry
        rows.append((account, ref, mass, json.loads(elements)))
    if rows:
        yield current, rows


def _stored(session: Session, query: str) -> Iterator[Row]:
    for account, ref, mass, elements in session.connection().execute(text(query)):
        yield account, ref, mass, json.loads(elements)


def _differing(sums: defaultdict[tuple[str, str], defaultdict[str, int]], stored: Iterable[Row]) -> list[str]:
    wrong, seen = [], set()
    for account, ref, mass, elements in stored:
        seen.add((account, ref))
        kept = {"": mass, **elements}
        added = sums[account, ref]
        wrong += [
            f"{account} {ref}: the balance says {kept.get(e, 0)} of {e or 'mass'}, the postings {added.get(e, 0)}"
            for e in sorted(kept.keys() | added.keys())
            if kept.get(e, 0) != added.get(e, 0)
        ]
        if account not in OWES and any(amount < 0 for amount in kept.values()):
            wrong.append(f"{account} {ref} holds less than nothing")
    return wrong + [f"{account} {ref} has postings and no balance" for account, ref in sums if (account, ref) not in seen]
