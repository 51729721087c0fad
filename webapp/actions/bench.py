"""What the bench calculators look up: the shop and its shelf, no plan."""

from __future__ import annotations

from datetime import date

from domain.shop.lots import Lot
from webapp.settings import Settings
from webapp.store import nouns
from webapp.store.engine import Session
from webapp.store.week import load_shop
from webapp.views.bench.sheet import Bench


def load_bench(session: Session, settings: Settings) -> tuple[Bench, date]:
    """The bench as it is, and the shop's day."""
    shop = load_shop(session)
    return Bench(shop=shop, lots=nouns.all_of(session, Lot)), settings.now(shop.rules.timezone).date()
