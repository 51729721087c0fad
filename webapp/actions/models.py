"""Models: bringing one in, saying its unit, taking its figures into a job."""

from __future__ import annotations

from domain.models.fit import largest_side, on_the_tree
from domain.models.shape import Model, ModelUnit, figures
from domain.saying import say
from domain.shop.flask import FlaskSize
from domain.shop.jobs import Job
from domain.units import Length
from webapp.actions import jobs
from webapp.actions.saving import Saved
from webapp.exchange.documents import JobDocument
from webapp.exchange.mould import PieceSizeDocument
from webapp.forms import typed_from
from webapp.forms.measures import quantity_text
from webapp.forms.shapes import measure_of
from webapp.meshes.read import read_model
from webapp.store import models, nouns
from webapp.store.engine import Database, Session
from webapp.store.models import StoredModel
from webapp.store.week import load_rules, load_shop
from webapp.views.models import ModelView, model_view

LARGEST_MODEL = 24 * 1024 * 1024
"""Bytes: nearly 500,000 triangles as binary STL."""


def bring(db: Database, name: str, data: bytes, job: str) -> str:
    """Read a file and keep what was found, on a job where one is named; returns its id. The file is read before
    the database is locked. Raises ``InvalidValue`` that says what is wrong with the file."""
    with db.read() as session:
        room = _room(session)
    model, picture = read_model(name, data, room)
    with db.write() as session:
        models.keep(session, model, picture)
        if job and nouns.find(session, Job, job) is not None:
            models.attach(session, model.id, job)
    return model.id


def look(session: Session, stored: StoredModel) -> ModelView:
    job = None if stored.job is None else nouns.find(session, Job, stored.job)
    return model_view(stored.model, job, load_shop(session))


def say_unit(session: Session, model: str, typed: str) -> bool:
    """Whether the unit is one that a model can have; then it is kept."""
    if typed not in list(ModelUnit):
        return False
    models.set_unit(session, model, ModelUnit(typed))
    return True


def typed_of(session: Session, model: Model) -> dict[str, str]:
    """The fields of a job that the model knows; nothing while its unit is being asked."""
    if model.unit is None:
        return {}
    found = figures(model.shape, model.unit)
    size = on_the_tree(found, model.shape, nouns.all_of(session, FlaskSize), load_rules(session)).size
    sides = {name: quantity_text(measure_of(PieceSizeDocument, name), getattr(size, name)) for name in ("width", "height", "reach")}
    volume = quantity_text(measure_of(JobDocument, "metal_volume"), found.volume)
    return {"pattern_mass": "", "metal_volume": volume, **{f"size.{name}": text for name, text in sides.items()}}


def take(session: Session, stored: StoredModel) -> Saved:
    """Put the model's volume and size into its job, in place of what was typed."""
    job = nouns.find_stored(session, Job, stored.job or "")
    if job is None:
        return Saved(errors={"": say("The model is on no job.")})
    typed = {**typed_from(JobDocument, job.value), **typed_of(session, stored.model)}
    return jobs.change(session, job.key, typed, job.version)


def _room(session: Session) -> Length:
    return largest_side(nouns.all_of(session, FlaskSize))
