"""Each template gets exactly its page's typed context."""

from __future__ import annotations

import importlib
import pkgutil
import re
from dataclasses import fields

import pytest
from jinja2 import meta, nodes

import webapp.routes
from webapp.pages import COMMON, ENVIRONMENT, Page, Part, resource_folder

for _module in pkgutil.iter_modules(webapp.routes.__path__):
    importlib.import_module(f"webapp.routes.{_module.name}")


def _kinds(kind: type[Part]) -> list[type[Part]]:
    below = [page for child in kind.__subclasses__() for page in _kinds(child)]
    return ([kind] if "template" in vars(kind) else []) + below


KINDS = _kinds(Part)


def _asked(template: str, seen: set[str]) -> set[str]:
    """The names that a template, its parents and its parts ask for."""
    if template in seen:
        return set()
    seen.add(template)
    assert ENVIRONMENT.loader is not None
    source = ENVIRONMENT.loader.get_source(ENVIRONMENT, template)[0]
    tree = ENVIRONMENT.parse(source)
    names = meta.find_undeclared_variables(tree)
    for other in meta.find_referenced_templates(tree):
        assert other is not None, f"{template} refers to a template by a name that is worked out"
        names |= _asked(other, seen)
    # what this template sets itself reaches its parts too
    own = {node.name for node in tree.find_all(nodes.Name) if node.ctx in {"store", "param"}}
    own |= {node.target for node in tree.find_all(nodes.Import)}
    return names - own - set(ENVIRONMENT.globals)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_template_asks_for_nothing_but_its_context(kind: type[Part]) -> None:
    assert _asked(kind.template, set()) <= {f.name for f in fields(kind)} | COMMON


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_context_holds_nothing_that_its_template_does_not_ask_for(kind: type[Part]) -> None:
    assert {f.name for f in fields(kind)} <= _asked(kind.template, set())


@pytest.mark.parametrize("kind", [kind for kind in KINDS if issubclass(kind, Page)], ids=lambda kind: kind.__name__)
def test_a_page_belongs_to_an_entry_of_the_navigation_or_to_none(kind: type[Page]) -> None:
    assert kind.here in {"", *(entry.key for entry in ENVIRONMENT.globals["navigation"])}


TEMPLATES = sorted(str(path.relative_to(resource_folder("templates"))) for path in resource_folder("templates").rglob("*.html"))


@pytest.mark.parametrize("template", TEMPLATES)
def test_a_template_has_no_inline_script_or_style_which_the_policy_would_refuse(template: str) -> None:
    text = (resource_folder("templates") / template).read_text(encoding="utf-8")
    assert re.findall(r"\sstyle=|\son[a-z]+=\s*[\"']|<style|<script(?![^>]*\ssrc=)|\|\s*safe\b|javascript:", text) == []
