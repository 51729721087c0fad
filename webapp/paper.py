"""Many sheets in one document: each as its own page shows it, and all of it in one file that needs nothing else."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Iterable
from enum import StrEnum

from markupsafe import Markup

from webapp.pages import Page, render, resource_folder
from webapp.ways import current

STYLES = ("castweek.css", "drawings.css", "print.css")
PICTURE = re.compile(r'src="/models/([^"/]+)/picture\.png"')
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


class Paper(StrEnum):
    A4 = "A4"
    LETTER = "letter"

    @classmethod
    def named(cls, name: str) -> Paper:
        """By its name in an address; A4 for any other."""
        return cls.LETTER if name.lower() == cls.LETTER else cls.A4


def sheets_of(pages: Iterable[Page]) -> tuple[Markup, ...]:
    """The sheets of pages that are one each, ready to stand on one page: a heading below that page's own, and ids that
    occur once."""
    return tuple(Markup(_sheet(render(page), number)) for number, page in enumerate(pages, 1))


def _sheet(html: str, number: int) -> str:
    sheet = html[html.index('<table class="sheet"') : html.rindex("</main>")]
    sheet = sheet.replace('<h1 class="visually-hidden">', '<h2 class="visually-hidden">').replace("</h1>", "</h2>")
    return re.sub(r'\b(id|aria-labelledby)="([^"]+)"', lambda found: _own(found, number), sheet)


def _own(found: re.Match[str], number: int) -> str:
    return f'{found[1]}="{" ".join(f"{one}-{number}" for one in found[2].split())}"'


def document(title: str, body: str, paper: Paper, picture: Callable[[str], bytes | None], *, styles: Iterable[str] = STYLES) -> str:
    """``body`` as a document without links to anything: styles and pictures are in it, and nothing of it may run.
    ``title`` in plain words; ``picture`` finds that of a model."""
    css = "\n".join((resource_folder("static") / name).read_text(encoding="utf-8") for name in styles)
    side = " landscape" if "size: landscape" in css else ""
    whole = PICTURE.sub(lambda found: f'src="{_data(picture(found[1]))}"', body)
    return (
        f'<!doctype html><html lang="{current().language.code}"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<title>{Markup.escape(title)}</title><style>{css}\n@page {{ size: {paper}{side}; }}</style></head>"
        f'<body class="paper{" wall-page" if side else ""}"><main>{whole}</main></body></html>'
    )


def _data(picture: bytes | None) -> str:
    return f"data:image/png;base64,{b64encode(picture or b'').decode()}"
