"""Survey: forms into checked measurements."""

from ribband.survey.blanks import write_blank_forms
from ribband.survey.check import check
from ribband.survey.model import Survey
from ribband.survey.reading import read_forms, write_forms
from ribband.survey.rows import Form, Forms, Row
from ribband.survey.solve import read_survey, unit_of
from ribband.survey.typed import typed

__all__ = [
    "Form",
    "Forms",
    "Row",
    "Survey",
    "check",
    "read_forms",
    "read_survey",
    "typed",
    "unit_of",
    "write_blank_forms",
    "write_forms",
]
