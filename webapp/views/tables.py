"""Lists as rows for a file, with headings that carry the units."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from domain.intake.columns import FIELD_LABELS, Field
from domain.intake.table import Cells
from domain.shop.jobs import Job
from webapp.views.week import FlaskDay

_JOB_FIELDS = (
    Field.JOB,
    Field.CUSTOMER,
    Field.ITEM,
    Field.ALLOY,
    Field.QUANTITY,
    Field.MATERIAL,
    Field.SECTION,
    Field.READY,
    Field.DUE,
    Field.NOTES,
)


def job_records(jobs: Iterable[Job], names: Mapping[str, str]) -> Iterator[Cells]:
    """Jobs under headings that bringing in a list knows. ``names``: of alloys and materials, by id."""
    heads = [FIELD_LABELS[field] for field in _JOB_FIELDS]
    yield (*heads, "pattern weight g", "volume mm³", "length mm", "width mm", "height mm")
    for job in jobs:
        size = (job.size.width, job.size.height, job.size.reach)
        yield (
            job.id,
            job.customer,
            job.item,
            names.get(job.alloy, job.alloy),
            str(job.quantity),
            names.get(job.material, job.material),
            str(job.section),
            job.ready,
            job.due,
            job.notes,
            f"{job.pattern_mass.decimal('g', 3).normalize():f}" if job.pattern_mass else "",
            f"{job.metal_volume.decimal('mm3', 3).normalize():f}" if job.metal_volume else "",
            *(f"{length.decimal('mm', 3).normalize():f}" for length in size),
        )


def flask_records(days: Iterable[FlaskDay]) -> Iterator[Cells]:
    """The week's flasks in casting order; clock times are the shop's."""
    yield ("flask", "size", "alloy", "pieces", "jobs", "invested", "kiln", "machine", "cast", "knocked out", "flask °C", "charge g")
    for line in (line for day in days for line in day.flasks):
        yield (
            line.flask.id,
            line.size,
            line.alloy,
            str(line.pieces),
            " ".join(f"{job} × {count}" for job, count in line.jobs),
            line.invested.strftime("%Y-%m-%d %H:%M"),
            line.kiln,
            line.machine,
            line.cast.strftime("%Y-%m-%d %H:%M"),
            line.knocked_out.strftime("%Y-%m-%d %H:%M"),
            f"{line.flask.temperature.celsius(0):f}",
            f"{line.flask.charge.decimal('g', 2):f}",
        )
