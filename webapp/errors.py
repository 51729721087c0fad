"""Friendly error pages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, TypeAlias
from urllib.parse import quote, urlsplit

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from domain.errors import DomainError
from domain.safety.gates import HeldBack
from domain.saying import say
from webapp import log, problems
from webapp.pages import Page, answer, wants_part
from webapp.store.trouble import Unavailable
from webapp.views.check_links import address_of


@dataclass(frozen=True, kw_only=True)
class ErrorPage(Page):
    """``reference``: the id of the log entry, where there is one. ``back``: the page of ours that was left, where
    the browser says which."""

    template: ClassVar[str] = "errors/error.html"

    what: str
    next_step: str
    reference: str = ""
    back: str = ""


@dataclass(frozen=True, kw_only=True)
class HeldPage(Page):
    """A checklist is open. ``open``: its points, as number and text. ``address``: of the checklist."""

    template: ClassVar[str] = "errors/held.html"
    here: ClassVar[str] = "today"

    what: str
    open: tuple[tuple[int, str], ...]
    address: str


SIGN_IN = "Castweek-Sign-In"
"""Header of an answer that refuses whoever is not signed in, or not as the one who made the entry."""


class NotSignedIn(Exception):
    """A page or a change that is not for strangers."""


Handler: TypeAlias = Callable[[Request, Any], Response]

WORDS = {
    404: (
        say("Not found"),
        say("There is nothing at this address. It may have been archived or renamed."),
        say("Go back to the list."),
    ),
    405: (say("Not possible here"), say("This address does not take that kind of request."), say("Go back and use the form.")),
    413: (say("Too large"), say("What was sent is larger than 6 MB."), say("Split it and send the parts.")),
}


def _left(request: Request) -> str:
    """Where "Go back" leads: the page of this server on which the form or the link was."""
    came = urlsplit(request.headers.get("referer", ""))
    if came.netloc.lower() != request.headers.get("host", "").lower() or not came.path.startswith("/"):
        return ""
    back = came.path + (f"?{came.query}" if came.query else "")
    return "" if back == request.url.path or back.startswith("//") else back


def unexpected(request: Request, request_id: str) -> Response:
    if problems.is_software(request):
        return problems.unexpected(request_id)
    page = ErrorPage(
        title=say("Something went wrong"),
        what=say("The server met an error that nobody expected. What you sent was not saved."),
        next_step=say("Go back and try once more; if it happens again, give the reference to whoever looks after this server."),
        reference=request_id,
        back=_left(request),
    )
    return answer(request, page, 500)


def _http_error(request: Request, error: HTTPException) -> HTMLResponse:
    title, what, next_step = WORDS.get(error.status_code, (say("Refused"), str(error.detail), say("Go back.")))
    page = ErrorPage(title=title, what=what, next_step=next_step, back=_left(request))
    return answer(request, page, error.status_code, error.headers)


def _bad_request(request: Request, error: RequestValidationError) -> HTMLResponse:
    problems = "; ".join(f"{'.'.join(str(part) for part in e['loc'][1:])}: {e['msg']}" for e in error.errors())
    page = ErrorPage(title=say("Not understood"), what=problems, next_step=say("Go back and correct it."), back=_left(request))
    return answer(request, page, 422)


def _against_the_trade(request: Request, error: DomainError) -> HTMLResponse:
    page = ErrorPage(title=say("Not possible"), what=str(error), next_step=say("Go back and correct it."), back=_left(request))
    return answer(request, page, 422)


def _held_back(request: Request, error: HeldBack) -> HTMLResponse:
    page = HeldPage(
        title=say("First the checklist"), what=str(error), open=error.open, address=address_of(error.flask, error.pause)
    )
    return answer(request, page, 409)


def _no_database(request: Request, error: Unavailable) -> HTMLResponse:
    log.log.error("database unavailable", extra={"facts": {"path": request.url.path, "reason": str(error)}})
    page = ErrorPage(
        title=say("No database"),
        what=say("The database that holds the shop's data does not answer at the moment. What you sent was not saved."),
        next_step=say("Wait a minute and try once more; if it stays away, tell whoever looks after this server."),
    )
    return answer(request, page, 503)


def _not_signed_in(request: Request, _error: NotSignedIn) -> Response:
    """To the sign-in and back; a change is refused, because what was sent cannot be kept."""
    if request.method == "GET" and not wants_part(request):
        here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/sign-in?onward={quote(here, safe='')}", 303)
    what = say("Nothing was changed: you are not signed in, or no longer.")
    page = ErrorPage(title=say("Not signed in"), what=what, next_step=say("Sign in and do it again."))
    return answer(request, page, 403, {SIGN_IN: "needed"})


HANDLERS: tuple[tuple[type[Exception], Handler, Handler], ...] = (
    (NotSignedIn, _not_signed_in, problems.not_signed_in),
    (HTTPException, _http_error, problems.http_error),
    (RequestValidationError, _bad_request, problems.bad_request),
    (HeldBack, _held_back, problems.held_back),
    (DomainError, _against_the_trade, problems.against_the_trade),
    (Unavailable, _no_database, problems.no_database),
)
"""By error: the page for people, and what other software gets."""


def add_error_pages(app: FastAPI) -> None:
    for kind, page, problem in HANDLERS:
        app.exception_handler(kind)(_told(page, problem))
    app.exception_handler(problems.Refused)(problems.refused)


def _told(page: Handler, problem: Handler) -> Handler:
    return lambda request, error: (problem if problems.is_software(request) else page)(request, error)
