"""Forms made from documents: the same fields, hints and checks as the week's JSON description.

``form_of`` builds what the template shows, ``typed_from`` gives the texts of a value that is there,
``read_form`` turns what was typed into a value or into messages by field.
"""

from webapp.forms.build import OPENED, Differs, Form, Group, Input, Rows, form_of
from webapp.forms.meeting import meet, opened_text, untouched
from webapp.forms.read import FormRead, read_form
from webapp.forms.shapes import Choice, Choices
from webapp.forms.write import typed_from

__all__ = [
    "OPENED",
    "Choice",
    "Choices",
    "Differs",
    "Form",
    "FormRead",
    "Group",
    "Input",
    "Rows",
    "form_of",
    "meet",
    "opened_text",
    "read_form",
    "typed_from",
    "untouched",
]
