"""Pages: the template environment, and one typed context for each page.

A page is a frozen dataclass that derives from ``Page``: its fields are exactly what its template
gets, beside the common names in ``COMMON``. A test walks all pages and compares them with what their
templates ask for.

    @dataclass(frozen=True, kw_only=True)
    class JobsPage(Page):
        template: ClassVar[str] = "jobs/list.html"
        here: ClassVar[str] = "jobs"          # which entry of the navigation it belongs to
        jobs: tuple[JobLine, ...]

    return answer(request, JobsPage(title="Jobs", jobs=...))

``Part`` is the same for a fragment that htmx gets: no title, no navigation, its template's name starts
with an underscore and the page includes it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any, ClassVar
from urllib.parse import quote, unquote

import jinja2
from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse

from domain.safety.checklist import STANDING_CAUTION
from domain.saying import heard, say
from domain.terms import word_of, words_in
from domain.units import Length
from webapp import formats
from webapp.auth.roles import Role, Who
from webapp.languages.catalogue import translator
from webapp.languages.templates import SpokenLoader
from webapp.ways import Language, current

PACKAGE = Path(__file__).resolve().parent


def resource_folder(name: str) -> Path:
    """``templates`` or ``static``: inside the package when it was installed, else in the checkout."""
    installed = PACKAGE / f"_{name}"
    return installed if installed.is_dir() else PACKAGE.parent / name


@dataclass(frozen=True)
class NavEntry:
    key: str
    href: str
    text: str

    def shown_to(self, who: Who | None) -> bool:
        """Whoever is signed in as a board has one page, and no other to go to."""
        return who is None or who.role is not Role.BOARD


NAVIGATION = (
    NavEntry("week", "/week", say("Week")),
    NavEntry("today", "/today", say("Today")),
    NavEntry("jobs", "/jobs", say("Jobs")),
    NavEntry("metal", "/metal", say("Metal")),
    NavEntry("bench", "/bench", say("Bench")),
    NavEntry("learning", "/learning", say("Record")),
    NavEntry("shop", "/shop", say("Shop")),
)


@dataclass(frozen=True, kw_only=True)
class Part:
    """A fragment's context."""

    template: ClassVar[str]


@dataclass(frozen=True, kw_only=True)
class Page(Part):
    """A page's context."""

    here: ClassVar[str] = ""
    title: str


COMMON = frozenset({"here", "demo", "ways", "said", "who"})
"""Names that every template gets beside its own context. ``said``: what the action before reports. ``who``: who is
signed in, none where nobody is. ``ways``: the units that stand beside fields."""

SAID_COOKIE = "said"


def static_address(name: str) -> str:
    """The address of a static file, with a mark that changes with its content."""
    return f"/static/{name}?v={_digest(name)}"


@cache
def _digest(name: str) -> str:
    return hashlib.sha256((resource_folder("static") / name).read_bytes()).hexdigest()[:10]


@cache
def environment_of(language: Language) -> jinja2.Environment:
    """Templates in one language; English ones are read as they stand."""
    folder, translate = resource_folder("templates"), translator(language)
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder) if translate is None else SpokenLoader(folder, translate),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(_filters())
    environment.globals.update(
        _=say,
        navigation=NAVIGATION,
        caution=STANDING_CAUTION,
        static=static_address,
        words_in=words_in,
        word_of=word_of,
    )
    return environment


def _filters() -> dict[str, Any]:
    return {
        "mass": formats.mass,
        "to_weigh": formats.to_weigh,
        "exact_mass": formats.exact_mass,
        "mass_typed": formats.mass_typed,
        "bulk": formats.bulk,
        "retold": formats.retold,
        "capitalize": formats.begun,
        "as_typed": formats.as_typed,
        "length": _length,
        "temperature": formats.temperature,
        "temperature_range": formats.temperature_range,
        "volume": formats.volume,
        "area": formats.area,
        "density": formats.density,
        "percent": formats.percent,
        "fineness": formats.fineness,
        "money": formats.money,
        "minutes": formats.minutes,
        "time_of_day": formats.time_of_day,
        "day": _unbroken(formats.day),
        "long_day": formats.long_day,
        "short_day": formats.short_day,
        "long_month": formats.long_month,
        "clock": formats.clock,
        "full_hour": formats.full_hour,
        "moment": formats.moment,
        "count": formats.count,
    }


def _unbroken(written: Callable[[Any], str]) -> Callable[[Any], str]:
    """A filter whose words stay on one line."""
    return lambda value: written(value).replace(" ", "\N{NO-BREAK SPACE}")


def _length(value: Any, *rest: Any) -> str | int:
    """A length in the reader's unit. Jinja's own filter of this name, which counts a list, stays."""
    return formats.length(value, *rest) if isinstance(value, Length) else len(value)


ENVIRONMENT = environment_of(Language.ENGLISH)


def context_of(part: Part) -> dict[str, Any]:
    """Exactly the part's own fields."""
    return {f.name: getattr(part, f.name) for f in fields(part)}


def render(part: Part, *, demo: bool = False, said: str = "", who: Who | None = None) -> str:
    common = {"here": getattr(part, "here", ""), "demo": demo, "said": said, "ways": current(), "who": who}
    return environment_of(current().language).get_template(part.template).render(**context_of(part), **common)


def answer(request: Request, part: Part, status: int = 200, headers: Mapping[str, str] | None = None) -> HTMLResponse:
    """The rendered page or fragment as a response that no cache keeps."""
    said = unquote(request.cookies.get(SAID_COOKIE, "")) if isinstance(part, Page) else ""
    html = render(part, demo=request.app.state.settings.demo, said=said, who=getattr(request.state, "who", None))
    response = HTMLResponse(html, status, headers={"Cache-Control": "no-store", "Vary": "HX-Request", **(headers or {})})
    if said:
        response.delete_cookie(SAID_COOKIE)
    return response


class SeeOther(RedirectResponse):
    """``said``: what is reported where it leads."""

    def __init__(self, address: str, said: str = "") -> None:
        super().__init__(address, 303)
        self.said = said


def see_other(address: str, said: str = "") -> SeeOther:
    """After a change: look at ``address`` (303), where ``said`` is reported once."""
    response = SeeOther(address, said)
    if said:
        response.set_cookie(SAID_COOKIE, quote(heard(said)), max_age=60, httponly=True, samesite="lax")
    return response


def wants_part(request: Request) -> bool:
    """Whether htmx asks and a fragment is enough. Without script, and when htmx goes back in the
    browser's history, the whole page is the answer."""
    asked = request.headers.get("hx-request") == "true"
    return asked and "hx-boosted" not in request.headers and "hx-history-restore-request" not in request.headers
