"""Everything one screen of a check needs to know, loaded once."""

from collections.abc import Mapping
from datetime import date, datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from django.utils import timezone

from checks.convert import to_specification
from checks.display import in_own_units, stimulus_text, void_text
from checks.measurement.result import Void
from checks.measurement.specification import Specification
from checks.models import Draft, Instrument, SpecificationRevision
from checks.selectors.days import day_at
from checks.selectors.draft import draft_of
from checks.selectors.place import Place, place_of
from checks.selectors.specification import stimulus_unit
from checks.tablet.kit import Kit, kit_of, set_up
from fleet.models import Turbocharger, User


class Desk:
    """One check under way, seen by one person; parts are loaded when a step first asks for them."""

    def __init__(self, draft: Draft, user: User) -> None:
        self.draft = draft
        self.user = user

    @property
    def answers(self) -> Mapping[str, Any]:
        """What has been answered so far, in the form of a submission."""
        answers: Mapping[str, Any] = self.draft.answers
        return answers

    @property
    def turbocharger(self) -> Turbocharger:
        return self.draft.turbocharger

    @cached_property
    def specification(self) -> SpecificationRevision:
        """The revision pinned when the check was begun; one query."""
        rows = SpecificationRevision.objects.select_related("turbocharger_model")
        return rows.get(pk=self.answers["specification"])

    @cached_property
    def place(self) -> Place:
        """Where the turbocharger sits; two queries."""
        return place_of(self.turbocharger)

    @property
    def cycles(self) -> int:
        return self.specification.exercise_cycles

    @property
    def electric(self) -> bool:
        return self.specification.turbocharger_model.stimulus == "electric"

    @property
    def stimulus(self) -> str:
        """What moves the actuator: 'pneumatic' or 'electric'."""
        return "electric" if self.electric else "pneumatic"

    @property
    def stimulus_unit(self) -> str:
        """The unit in which this person reads settings."""
        return stimulus_unit(self.specification.turbocharger_model, self.user)

    @property
    def length_unit(self) -> str:
        return self.user.length_unit

    @property
    def maximum(self) -> str:
        """The canister's maximum (the highest command of an electric actuator), in the person's unit."""
        return stimulus_text(self.specification.stimulus_max, self.stimulus_unit)

    def told_void(self, void: Void) -> str:
        """Why a stroke is void, with its values in the person's units."""
        return void_text(void, self.user.pressure_unit, self.user.length_unit)

    def told(self, sentence: str) -> str:
        """A sentence of the core with its values in the person's units."""
        return in_own_units(sentence, self.user.pressure_unit, self.user.length_unit)

    @property
    def today(self) -> date:
        return day_at(self.turbocharger.depot, timezone.now())

    @property
    def made_at(self) -> datetime:
        """When the check is made: that of its first zero, before that now."""
        made_at = self.answers.get("made_at")
        return datetime.fromisoformat(made_at) if made_at else timezone.now()

    @property
    def made_on(self) -> date:
        """That day at the depot."""
        return day_at(self.turbocharger.depot, self.made_at)

    @cached_property
    def kit(self) -> Kit:
        """The instruments chosen; three queries. Only after the step 'instruments'."""
        chosen = self.answers["instruments"]
        rows = Instrument.objects.filter(pk__in=[pk for pk in chosen.values() if pk])
        by_pk = {row.pk: row for row in rows.prefetch_related("certificates__points")}
        tools, alignment = {part: by_pk.get(pk or 0) for part, pk in chosen.items()}, set_up(self.answers["alignment"])
        return kit_of(tools, self.specification, alignment, self.user, self.made_on)

    @property
    def core_specification(self) -> Specification:
        """The specification as the measurement core reads it."""
        return to_specification(self.specification)


def desk_of(*, user: User, key: UUID) -> Desk:
    """The check under way that `key` names. Raises FleetError (404) where there is none for this person."""
    return Desk(draft_of(user=user, key=key), user)
