"""Refusals for other software: RFC 9457 in JSON, in the words that people get on their pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from http import HTTPStatus

from fastapi import Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from domain.errors import DomainError, InvalidValue
from domain.safety.gates import HeldBack
from webapp import log
from webapp.exchange.api.base import FieldProblem, Problem
from webapp.exchange.loading import path_text, words_of
from webapp.security import SOFTWARE
from webapp.store.trouble import Unavailable

MEDIA_TYPE = "application/problem+json"
WORDS = {
    400: "The body is not JSON that can be read.",
    404: "There is nothing at this address. Ids are written as they stand in the lists.",
    405: "This address does not take that method.",
    413: "What was sent is larger than 6 MB. Split it and send the parts.",
}


def is_software(request: Request) -> bool:
    """Whether the request asks the JSON interface and not a page."""
    return request.url.path.startswith(SOFTWARE)


class Refused(Exception):
    """A refusal in full; raised in a route, it takes back what was begun."""

    def __init__(
        self,
        status: int,
        detail: str,
        *,
        kind: str = "",
        errors: Mapping[str, str] | None = None,
        sure: str = "",
        version: int | None = None,
        open: Iterable[str] = (),
    ) -> None:
        super().__init__(detail)
        self.problem = Problem(
            type=f"/help/api#{kind}" if kind else "about:blank",
            title=HTTPStatus(status).phrase,
            status=status,
            detail=detail,
            errors=tuple(FieldProblem(field=field, detail=text) for field, text in (errors or {}).items()),
            sure=sure,
            version=version,
            open=tuple(open),
        )


def told(refusal: Refused, headers: Mapping[str, str] | None = None) -> Response:
    problem = refusal.problem
    body = problem.model_dump_json(exclude_defaults=True, exclude={"type"} if problem.type == "about:blank" else None)
    return Response(body, problem.status, media_type=MEDIA_TYPE, headers={"Cache-Control": "no-store", **(headers or {})})


def refused(_request: Request, error: Refused) -> Response:
    return told(error)


def unexpected(request_id: str) -> Response:
    return told(Refused(500, f"The server met an error that nobody expected. Nothing was saved. Reference: {request_id}."))


def http_error(_request: Request, error: HTTPException) -> Response:
    detail = WORDS.get(error.status_code, str(error.detail))
    return told(Refused(error.status_code, detail), error.headers)


def bad_request(_request: Request, error: RequestValidationError) -> Response:
    errors: dict[str, str] = {}
    for line in error.errors():
        place, *path = line["loc"]
        field = path_text(path if place == "body" or path else [place])
        errors.setdefault("" if line["type"] == "json_invalid" else field, words_of(line["type"], line["msg"]))
    return told(Refused(422, "Nothing was changed: something in what was sent is wrong.", errors=errors))


def against_the_trade(_request: Request, error: DomainError) -> Response:
    errors = {error.field: str(error)} if isinstance(error, InvalidValue) else {}
    return told(Refused(422, str(error), errors=errors))


def held_back(_request: Request, error: HeldBack) -> Response:
    points = (f"{number}. {text}" for number, text in error.open)
    return told(Refused(409, str(error), kind="held-back", open=points))


def no_database(request: Request, error: Unavailable) -> Response:
    log.log.error("database unavailable", extra={"facts": {"path": request.url.path, "reason": str(error)}})
    return told(Refused(503, "The database does not answer at the moment. Nothing was saved. Wait a minute and try again."))


def not_signed_in(_request: Request, _error: Exception) -> Response:
    detail = "Send the token of an access: “Authorization: Bearer …”. An owner or manager makes one under People, Other software."
    return told(Refused(401, detail), {"WWW-Authenticate": 'Bearer realm="Castweek"'})
