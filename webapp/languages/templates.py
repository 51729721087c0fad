"""Templates in a language: read with its sentences in the place of the English ones, once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import jinja2

from domain.saying import Translate
from webapp.languages.segments import swapped


class SpokenLoader(jinja2.FileSystemLoader):
    def __init__(self, folder: Path, translate: Translate) -> None:
        super().__init__(folder)
        self.translate = translate

    def get_source(self, environment: jinja2.Environment, template: str) -> tuple[str, str, Callable[[], bool]]:
        source, name, fresh = super().get_source(environment, template)
        return swapped(source, self.translate), name, fresh
