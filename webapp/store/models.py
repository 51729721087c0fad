"""Models of pieces, each on its job or waiting for one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

from sqlmodel import col, delete, select

from domain.models.shape import Model, ModelUnit
from webapp.store.columns import utc_now
from webapp.store.convert import to_domain, values_of
from webapp.store.engine import Session
from webapp.store.tables import ModelRow

WAITING = timedelta(days=30)
"""A model of which no job was made is forgotten after this time."""


@dataclass(frozen=True, slots=True)
class StoredModel:
    """``job``: whose piece it is, none while a job is being made of it."""

    model: Model
    job: str | None


def keep(session: Session, model: Model, picture: bytes) -> None:
    """A new model that is on no job yet."""
    waiting = (col(ModelRow.job).is_(None), col(ModelRow.brought_at) < utc_now() - WAITING)
    session.exec(delete(ModelRow).where(*waiting))
    session.add(ModelRow(**values_of(model), picture=picture))
    session.flush()


def find(session: Session, model: str) -> StoredModel | None:
    row = session.get(ModelRow, model)
    return None if row is None else StoredModel(to_domain(row, Model), row.job)


def of_job(session: Session, job: str) -> StoredModel | None:
    row = session.exec(select(ModelRow).where(ModelRow.job == job)).first()
    return None if row is None else StoredModel(to_domain(row, Model), row.job)


def of_jobs(session: Session, jobs: Iterable[str]) -> dict[str, str]:
    """Job → its model."""
    query = select(ModelRow.job, ModelRow.id).where(col(ModelRow.job).in_(sorted(jobs)))
    return {job: model for job, model in session.exec(query).all() if job is not None}


def picture(session: Session, model: str) -> bytes | None:
    return session.exec(select(ModelRow.picture).where(ModelRow.id == model)).first()


def attach(session: Session, model: str, job: str) -> None:
    """Put a waiting model on a job, in place of the one that is there."""
    row = session.get(ModelRow, model)
    if row is None or row.job is not None:
        return
    remove_from(session, job)
    row.job = job
    session.flush()


def remove_from(session: Session, job: str) -> None:
    session.exec(delete(ModelRow).where(col(ModelRow.job) == job))
    session.flush()


def set_unit(session: Session, model: str, unit: ModelUnit) -> None:
    row = session.get(ModelRow, model)
    if row is not None:
        row.unit = unit
        session.flush()
