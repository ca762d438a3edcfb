"""Every rule of the database carries its own code, and the sentence that a person reads."""

import pytest
from django.apps import apps
from django.db.models import BaseConstraint

OURS = ("fleet", "checks", "reports")
CONSTRAINTS = [
    pytest.param(constraint, id=f"{model.__name__}-{constraint.name}")
    for label in OURS
    for model in apps.get_app_config(label).get_models()
    for constraint in model._meta.constraints
]


def test_there_are_rules_to_look_at() -> None:
    assert len(CONSTRAINTS) > 20


@pytest.mark.parametrize("constraint", CONSTRAINTS)
def test_a_constraint_has_its_code_and_sentence(constraint: BaseConstraint) -> None:
    assert constraint.violation_error_code == constraint.name
    sentence = str(constraint.violation_error_message)
    assert sentence != str(BaseConstraint.default_violation_error_message)
    assert sentence.endswith(".")
    assert sentence[0].isupper()
