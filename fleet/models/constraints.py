"""Constraints that carry their own code and the sentence a user reads."""

from typing import Any

from django.db import models


def rule(name: str, condition: models.Q, sentence: str) -> models.CheckConstraint:
    """A check constraint whose name is also its error code."""
    return models.CheckConstraint(
        name=name, condition=condition, violation_error_code=name, violation_error_message=sentence
    )


def only_one(name: str, fields: tuple[str, ...], sentence: str, **options: Any) -> models.UniqueConstraint:
    """A unique constraint whose name is also its error code."""
    return models.UniqueConstraint(
        fields=fields, name=name, violation_error_code=name, violation_error_message=sentence, **options
    )
