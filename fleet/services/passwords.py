"""A person's password: taken when it is strong enough, and none that whoever knows this place would try first."""

import re

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from fleet.models import Depot, User
from fleet.problems import FleetError

# Words of the product and its trade; the names of the person's depots count as well.
WORDS = ("wastegate", "register", "turbocharger", "turbo", "actuator", "depot", "fleet", "truck", "password", "welcome")
LEFT_AT_LEAST = 6


class NotOfThisPlace:
    """Refuses a password of which little is left without the words of this place."""

    def validate(self, password: str, user: User | None = None) -> None:
        """Raise a ValidationError with the sentence for the person."""
        left = password.casefold()
        for word in sorted([*WORDS, *_of_depots(user)], key=len, reverse=True):
            left = left.replace(word, "")
        if left != password.casefold() and len(re.sub(r"[\W\d_]", "", left)) < LEFT_AT_LEAST:
            raise ValidationError(self.get_help_text(), code="password_of_this_place")

    def get_help_text(self) -> str:
        """What to do instead."""
        return "This is little more than words that everybody here knows. Add others: three or four unrelated words do."


def take_password(person: User, password: str, *, field: str) -> None:
    """Give a person a password, not written yet. Raises FleetError on `field` where it is too weak."""
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise FleetError("password_weak", field, " ".join(error.messages)) from error
    person.set_password(password)


def _of_depots(user: User | None) -> list[str]:
    if user is None or user.pk is None:
        return []
    rows = Depot.objects.filter(memberships__user=user).values_list("name", "code")
    return [word for row in rows for text in row for word in text.casefold().split() if len(word) > 3]
