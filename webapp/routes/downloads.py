"""A table as a file, in the form that its address ends with."""

from __future__ import annotations

from collections.abc import Iterable

from fastapi.responses import Response
from starlette.exceptions import HTTPException

from domain.intake.table import Cells, written
from webapp.exchange.workbook import MEDIA_TYPE, workbook


def table_file(records: Iterable[Cells], name: str, form: str) -> Response:
    """``form``: ``csv`` or ``xlsx``; of another there is no page."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.{form}"', "Cache-Control": "no-store"}
    if form == "csv":  # in plain UTF-8 for programs; spreadsheets have their own form
        return Response(written(records), media_type="text/csv; charset=utf-8", headers=headers)
    if form == "xlsx":
        return Response(workbook(records), media_type=MEDIA_TYPE, headers=headers)
    raise HTTPException(404)
