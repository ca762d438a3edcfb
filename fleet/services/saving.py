"""How every service writes a row: checked whole, with its author, and with sentences instead of database errors."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, models, transaction

from fleet.models import User
from fleet.problems import FleetError, FleetErrors, each_error

# Which input a rule over several fields is about, so that its sentence appears beside it.
FIELD_OF_RULE = {
    "depot_name_once": "name",
    "depot_name_given": "name",
    "depot_working_days": "working_days",
    "vin_once": "vin",
    "unit_number_given": "unit_number",
    "truck_retired_after_service": "retired_on",
    "engine_serial_given": "serial",
    "engine_in_one_truck": "engine",
    "truck_has_one_engine": "truck",
    "engine_removed_after_installed": "removed_on",
    "model_name_given": "name",
    "turbocharger_serial_given": "serial",
    "scrapped_after_received": "scrapped_on",
    "turbocharger_fitted_once": "turbocharger",
    "position_holds_one": "position",
    "removed_after_fitted": "removed_on",
    "removal_meter_not_below_fitting": "odometer",
    "fitment_meters_not_negative": "odometer",
    "meter_reading_given": "odometer",
    "meter_reading_plausible": "odometer",
    "one_meter_reading_per_moment": "read_at",
    "complaint_closed_after_raised": "closed_on",
    "complaint_closed_with_finding": "finding",
    "note_not_empty": "text",
    "one_role_per_depot": "username",
}


class Faults(list[FleetError]):
    """Refusals gathered so that a person hears of every wrong field at once."""

    @contextmanager
    def gathering(self) -> Iterator[None]:
        """Keep a refusal raised inside instead of stopping there."""
        try:
            yield
        except FleetError as error:
            self.extend(each_error(error))


def save_checked(
    row: models.Model, *, user: User | None = None, reason: str = "", faults: Sequence[FleetError] = ()
) -> None:
    """Check `row` against every rule of its model and write it; `user` and `reason` go into its record of changes.

    Raises FleetErrors with one sentence per wrong field, and with the `faults` found before.
    """
    _refuse_wrong(row, faults)
    row._history_user = user  # type: ignore[attr-defined]
    row._change_reason = reason or None  # type: ignore[attr-defined]
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:  # somebody was quicker: the same check now sees the other row
        _refuse_wrong(row)
        raise


def assign(row: models.Model, changes: dict[str, Any]) -> bool:
    """Set the given attributes; return whether any differed."""
    differing = {name: value for name, value in changes.items() if getattr(row, name) != value}
    for name, value in differing.items():
        setattr(row, name, value)
    return bool(differing)


def _refuse_wrong(row: models.Model, faults: Sequence[FleetError] = ()) -> None:
    found = list(faults)
    try:
        row.full_clean()
    except ValidationError as error:
        known = {fault.field for fault in faults}
        found += [fault for fault in _sentences(row, error) if fault.field not in known]
    if found:
        raise FleetErrors(tuple(found))


def _sentences(row: models.Model, error: ValidationError) -> list[FleetError]:
    found = []
    for field, wrongs in error.error_dict.items():
        for wrong in wrongs:
            code = str(wrong.code or "invalid")
            place = FIELD_OF_RULE.get(code, "") if field == NON_FIELD_ERRORS else field
            found.append(FleetError(code, place, _sentence(row, field, code, wrong)))
    return found


def _sentence(row: models.Model, field: str, code: str, wrong: ValidationError) -> str:
    if code == "unique":
        label = getattr(row._meta.get_field(field), "verbose_name", field)
        return f"Another {row._meta.verbose_name} already has this {label}."
    if code in {"blank", "null"}:
        return "Fill in this field."
    return " ".join(wrong.messages)
