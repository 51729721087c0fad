"""What is said and not yet in a catalogue, and putting it there.

python tests/support/sayings.py missing [BEGINNING…]      of files whose name begins so; all without
python tests/support/sayings.py stale                     what is in a catalogue and said no more
python tests/support/sayings.py add ROOM FILE             FILE: {"English": ["Deutsch", "Español"], …} in JSON
python tests/support/sayings.py drop                      takes out what is stale
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

from babel.messages import Catalog
from babel.messages.pofile import read_po, write_po

from webapp.languages.catalogue import catalogue
from webapp.languages.collect import said
from webapp.ways import Language

ROOT = Path(__file__).resolve().parents[2]
CODES = {"de": Language.GERMAN, "es": Language.SPANISH}


def marks(text: str) -> list[str]:
    """The values and tags of a sentence, which each translation has too."""
    return sorted(set(re.findall(r"\{\w+\}|</?\d+/?>", text)))


def folder(code: str) -> Path:
    return ROOT / "webapp" / "languages" / code


def missing(beginnings: tuple[str, ...]) -> dict[str, str]:
    known = [catalogue(language) for language in CODES.values()]
    wanted = {p: f for p, f in said(ROOT).items() if not beginnings or f.startswith(beginnings)}
    return {p: f for p, f in wanted.items() if any(p not in one for one in known)}


def stale() -> set[str]:
    known = set().union(*(catalogue(language) for language in CODES.values()))
    return known - set(said(ROOT))


def add(room: str, words: dict[str, list[str]]) -> None:
    for number, code in enumerate(CODES):
        file = folder(code) / f"{room}.po"
        file.parent.mkdir(exist_ok=True)
        book = read_po(file.open(encoding="utf-8")) if file.exists() else Catalog()
        for english, others in words.items():
            if marks(english) != marks(others[number]):
                sys.exit(f"{code}: the values or tags differ: {english!r} / {others[number]!r}")
            if english in book:
                book[english].string = others[number]
            else:
                book.add(english, others[number])
        write(book, file)


def write(book: Catalog, file: Path) -> None:
    bare = Catalog(locale=file.parent.name, charset="utf-8")
    for message in book:
        if message.id:
            bare.add(message.id, message.string)
    with file.open("wb") as out:
        out.write(b'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n\n')
        write_po(out, bare, width=0, omit_header=True, sort_output=True)


def drop() -> None:
    gone = stale()
    for code in CODES:
        for file in folder(code).glob("*.po"):
            book = read_po(file.open(encoding="utf-8"))
            for english in [m.id for m in book if m.id in gone]:
                book.delete(english)
            write(book, file)


def main(what: str, *rest: str) -> None:
    if what == "missing":
        found = missing(rest)
        for pattern, file in found.items():
            print(f"{file}\t{json.dumps(pattern, ensure_ascii=False)}")
        print(len(found), "missing")
    elif what == "stale":
        print(*sorted(stale()), sep="\n")
    elif what == "add":
        add(rest[0], json.loads(Path(rest[1]).read_text(encoding="utf-8")))
    elif what == "drop":
        drop()


if __name__ == "__main__":
    main(*sys.argv[1:])
