"""Every router for other software with its door."""

from __future__ import annotations

from fastapi import APIRouter

from webapp.routes.api import (
    books,
    charges,
    checks,
    files,
    flasks,
    jobs,
    lists,
    metal,
    models,
    office,
    people,
    plan,
    points,
    record,
    shop,
    stages,
    traces,
    trials,
)
from webapp.routes.token_doors import ANY_TOKEN, DESK_TOKEN, FLOOR_TOKEN, OWNER_TOKEN, READ_TOKEN, TokenDoor

API: tuple[tuple[APIRouter, TokenDoor], ...] = (
    (people.me, ANY_TOKEN),
    (jobs.router, READ_TOKEN),
    (plan.router, READ_TOKEN),
    (plan.week, DESK_TOKEN),
    (trials.router, DESK_TOKEN),
    (flasks.router, READ_TOKEN),
    (flasks.moving, READ_TOKEN),
    (stages.router, FLOOR_TOKEN),
    (checks.router, FLOOR_TOKEN),
    (checks.passing, DESK_TOKEN),
    (charges.router, FLOOR_TOKEN),
    (metal.router, READ_TOKEN),
    (traces.router, READ_TOKEN),
    (traces.custody, READ_TOKEN),
    (books.router, READ_TOKEN),
    (shop.router, READ_TOKEN),
    (people.router, DESK_TOKEN),
    (points.router, READ_TOKEN),
    (models.router, READ_TOKEN),
    (lists.router, DESK_TOKEN),
    (record.router, READ_TOKEN),
    (record.today, FLOOR_TOKEN),
    (record.bench, FLOOR_TOKEN),
    (office.feeds, DESK_TOKEN),
    (office.week, DESK_TOKEN),
    (office.copies, OWNER_TOKEN),
    (files.router, READ_TOKEN),
    (files.archive, OWNER_TOKEN),
)
