"""The sentences that stand in a template, and the template with others in their place.

A sentence is a run of text with the values and the inline tags within it, up to the next block tag or Jinja statement.
Its values are called by the last name of their expression, ``{{ line.cast|moment }}`` is ``{cast}``; inline tags are
``<1>…</1>``. Labels, titles and placeholders of tags are sentences too. Words within an expression are marked there:
``{{ _("nobody yet") }}``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

INLINE = {"a", "abbr", "b", "br", "code", "em", "i", "kbd", "small", "span", "strong", "sub", "sup", "time", "var"}
SILENT = {"script", "style", "pre"}
SPOKEN = (
    *("aria-label", "title", "placeholder", "alt", "content-label"),
    *("data-ask", "data-asking", "data-busy", "data-drag", "data-label", "data-lost", "data-name", "data-outbox", "data-place"),
)
"""Attributes that people read or hear."""
Swap = Callable[[str], str]

_JINJA = re.compile(r"\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}", re.S)
_TAG = re.compile(r"<!--.*?-->|<!\w[^>]*>|</?[a-zA-Z][^\s/>\x00]*(?:\"[^\"]*\"|'[^']*'|[^>\"'])*>", re.S)
_HELD = re.compile(r"\x00(\d+)\x01")
_WORDS = re.compile(r"[^\W\d_]{2}")
_ATTRIBUTES = re.compile(r"(?:\s*[\w-]+=\"[^\"]*\")+\s*")
"""What a macro puts into a tag: no sentence."""
_SPOKEN = re.compile(rf"(?<=\s)({'|'.join(SPOKEN)})=\"([^\"]*)\"")


@dataclass(slots=True)
class _Names:
    """Gives each value of a sentence its name, and each inline tag its number."""

    values: dict[str, str] = field(default_factory=dict)
    tags: list[tuple[str, str]] = field(default_factory=list)
    open: list[int] = field(default_factory=list)

    def value(self, jinja: str) -> str:
        base = _name(jinja)
        name, number = base, 2
        while self.values.get(name, jinja) != jinja:
            name, number = f"{base}{number}", number + 1
        self.values[name] = jinja
        return f"{{{name}}}"

    def tag(self, tag: str) -> str:
        if tag.startswith("</") and self.open:
            number = self.open.pop()
            self.tags[number - 1] = (self.tags[number - 1][0], tag)
            return f"</{number}>"
        self.tags.append((tag, ""))
        number = len(self.tags)
        if tag[1:3].lower() == "br" or tag.endswith("/>") or tag.startswith("</"):
            return f"<{number}/>"
        self.open.append(number)
        return f"<{number}>"

    def back(self, sentence: str) -> str:
        """The sentence as a piece of template again."""

        def of_tag(found: re.Match[str]) -> str:
            before, after = self.tags[int(found[2]) - 1]
            return after if found[1] else before

        with_tags = re.sub(r"<(/?)(\d+)/?>", of_tag, sentence)
        return re.sub(r"\{(\w+)\}", lambda found: self.values.get(found[1], found[0]), with_tags)


def _name(jinja: str) -> str:
    """The last name of an expression, before its filters: cast of ``{{ line.cast|moment }}``."""
    inner = re.sub(r"\"[^\"]*\"|'[^']*'", "", jinja.strip("{} -\n"))
    head = inner.split("|")[0].split(" if ")[0]
    names = re.findall(r"[A-Za-z_]\w*", re.sub(r"[(\[].*", "", head))
    found = [name for name in names if name not in {"id", "name", "not", "or", "and", "get", "text", "words"}] or names
    return (found[-1] if found else "value").strip("_") or "value"


def swapped(source: str, swap: Swap) -> str:
    """The template with each of its sentences given to ``swap``."""
    held: list[str] = []

    def hold(found: re.Match[str]) -> str:
        held.append(found[0])
        return f"\x00{len(held) - 1}\x01"

    def release(text: str) -> str:
        return _HELD.sub(lambda found: held[int(found[1])], text)

    return "".join(_run(piece, held, release, swap) for piece in _pieces(_JINJA.sub(hold, source), held))


def _pieces(text: str, held: list[str]) -> Iterator[list[str] | str]:
    """Runs of text, values and inline tags as lists of tokens; what stands between them as text."""
    run: list[str] = []
    silent = ""
    for token in _tokens(text):
        tag = re.match(r"</?([a-zA-Z][\w-]*)", token)
        name = tag[1].lower() if tag else ""
        if silent or name in SILENT:
            silent = "" if token.startswith(f"</{silent or name}") else silent or name
            ends = True
        else:
            ends = bool(name and name not in INLINE) or token.startswith("<!") or _is_statement(token, held)
        if ends:
            yield run
            yield token
            run = []
        else:
            run.append(token)
    yield run


def _tokens(text: str) -> Iterator[str]:
    """Tags, values held back, and the text between them."""
    at = 0
    for found in re.finditer(rf"{_TAG.pattern}|\x00\d+\x01", text, re.S):
        if found.start() > at:
            yield text[at : found.start()]
        yield found[0]
        at = found.end()
    if at < len(text):
        yield text[at:]


def _is_statement(token: str, held: list[str]) -> bool:
    found = _HELD.fullmatch(token)
    return found is not None and not held[int(found[1])].startswith("{{")


def _run(piece: list[str] | str, held: list[str], release: Swap, swap: Swap) -> str:
    if isinstance(piece, str):
        return _spoken(piece, release, swap)
    before, core, after = _core(piece)
    elements = _elements(core)
    if len(elements) > 1:
        return "".join(_run(one, held, release, swap) for one in (before, *elements, after) if one)
    text = "".join(core)
    if _ATTRIBUTES.fullmatch(text) or not _WORDS.search(re.sub(r"<[^>]*>|\x00\d+\x01|&\w+;", "", text)):
        return "".join(_spoken(token, release, swap) for token in piece)
    names = _Names()
    parts = [_token(token, names, held, release, swap) for token in core]
    around = [release("".join(_spoken(token, release, swap) for token in side)) for side in (before, after)]
    sentence = "".join(parts)
    bare = sentence.strip()
    lead, trail = sentence[: len(sentence) - len(sentence.lstrip())], sentence[len(sentence.rstrip()) :]
    return around[0] + lead + names.back(swap(bare)) + trail + around[1]


def _token(token: str, names: _Names, held: list[str], release: Swap, swap: Swap) -> str:
    """As it stands in the sentence: a tag's number, a value's name, or text without its line breaks."""
    if _TAG.fullmatch(token):
        return names.tag(_spoken(token, release, swap))
    value = _HELD.fullmatch(token)
    return names.value(held[int(value[1])]) if value else re.sub(r"\s+", " ", token)


def _core(run: list[str]) -> tuple[list[str], list[str], list[str]]:
    """The run without what stands at its edges and says nothing: blanks, lone tags, pairs of tags around it all."""
    start, end = 0, len(run)
    while start < end:
        first, last = run[start], run[end - 1]
        if not first.strip() or _unmatched(run[start:end], 0):
            start += 1
        elif not last.strip() or _unmatched(run[start:end], end - start - 1):
            end -= 1
        elif _TAG.fullmatch(first) and _partner(run[start:end], 0) == end - start - 1 > 0:
            start, end = start + 1, end - 1
        else:
            break
    return run[:start], run[start:end], run[end:]


def _elements(core: list[str]) -> list[list[str]]:
    """A row of links or marks with nothing said between them is one sentence each."""
    found: list[list[str]] = []
    at = 0
    while at < len(core):
        end = _partner(core, at) if _TAG.fullmatch(core[at]) else None
        if (end is None and _WORDS.search(_HELD.sub("", core[at]))) or (end is None and _HELD.fullmatch(core[at])):
            return [core]
        found.append(core[at : (at if end is None else end) + 1])
        at = (at if end is None else end) + 1
    return found


def _partner(run: list[str], at: int) -> int | None:
    """Where the tag at ``at`` is closed within the run."""
    depth = 0
    for place in range(at, len(run)):
        if _TAG.fullmatch(run[place]):
            if run[place].startswith("</"):
                depth -= 1
            elif not run[place].endswith("/>") and run[place][1:3].lower() != "br":
                depth += 1
            if depth == 0:
                return place
    return None


def _unmatched(run: list[str], at: int) -> bool:
    """Whether a tag at the edge of the run has no partner in it, or is a line's break."""
    token = run[at]
    if not _TAG.fullmatch(token):
        return False
    if token[1:3].lower() == "br":
        return True
    if token.startswith("</"):
        return all(_partner(run, place) != at for place in range(at))
    return _partner(run, at) is None


def _spoken(token: str, release: Swap, swap: Swap) -> str:
    """A tag with its labels swapped, and all that was held back in its place again."""
    if not token.startswith("<"):
        return release(token)
    return release(_SPOKEN.sub(lambda found: f'{found[1]}="{_label(release(found[2]), swap)}"', token))


def _label(text: str, swap: Swap) -> str:
    """The value of a spoken attribute: its text between Jinja's statements."""
    return "".join(_spoken_text(part, swap) for part in re.split(r"(\{%.*?%\})", text, flags=re.S))


def _spoken_text(text: str, swap: Swap) -> str:
    names = _Names()
    sentence = re.sub(r"\{\{.*?\}\}", lambda found: names.value(found[0]), text, flags=re.S)
    if text.startswith("{%") or not _WORDS.search(re.sub(r"\{\w+\}", "", sentence)):
        return text
    bare = sentence.strip()
    at = sentence.index(bare)
    return sentence[:at] + names.back(swap(bare).replace('"', "&quot;")) + sentence[at + len(bare) :]


def sentences(source: str) -> list[str]:
    """All sentences of a template, in their order."""
    found: list[str] = []

    def note(sentence: str) -> str:
        found.append(sentence)
        return sentence

    swapped(source, note)
    return found
