"""Choosing the units that one person, or the shop, reads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from domain.saying import say
from webapp.auth.roles import Who
from webapp.store import setup
from webapp.store import ways as store
from webapp.store.engine import Session
from webapp.ways import CUSTOMARY, METRIC, Ways, as_usual_in, chosen, unchosen

STEP = "units"
AS_THE_SHOP = "shop"
ALL = {"metric": METRIC, "customary": CUSTOMARY}


def choose_own(session: Session, who: Who, typed: Mapping[str, str]) -> str:
    """For whoever is signed in; for the shop where nobody is. Says what is now so."""
    if who.account is None:
        store.choose(session, None, _chosen(session, None, typed))
        return say("The shop reads so from now on.")
    if typed.get("all") == AS_THE_SHOP:
        store.choose(session, who.account, None)
        return say("You read as the shop does.")
    store.choose(session, who.account, _chosen(session, who.account, typed))
    return say("You read so from now on.")


def choose_for_shop(session: Session, typed: Mapping[str, str]) -> str:
    """For everybody who has not chosen for themselves."""
    store.choose(session, None, _chosen(session, None, typed))
    setup.mark(session, STEP, setup.SAVED)
    return say("Units: saved.")


def _chosen(session: Session, account: int | None, typed: Mapping[str, str]) -> Ways:
    before = store.of_account(session, account, unchosen())
    after = chosen(typed, before)
    if typed.get("all", "") in ALL:
        return replace(ALL[typed["all"]], language=after.language)
    return as_usual_in(after) if after.language != before.language and after.numbers == before.numbers else after
