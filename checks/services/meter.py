"""The truck's meters at a check: held against the readings before and after, and kept with the truck."""

from checks.models import Check
from checks.selectors.amended import typed_value
from checks.services.faults import Faults
from checks.services.parties import Parties
from checks.services.submission import Submission
from fleet.models import Fitment, MeterReading, Truck, User
from fleet.problems import FleetError
from fleet.services.fitment import truck_carrying
from fleet.services.meter import Meter, check_meter
from fleet.services.saving import save_checked


def check_meters(parties: Parties, sent: Submission, faults: Faults) -> None:
    """Note meters that run backwards, or that belong to no truck."""
    if parties.truck is None:
        for field in ("odometer", "engine_hours"):
            if getattr(sent, field) is not None:
                faults.add(
                    "not_in_a_truck", field, f"{parties.turbocharger} was in no truck on {parties.on}. Leave it out."
                )
        return
    km, hours = _values(sent)
    for meter in (Meter(odometer_km=km), Meter(engine_hours=hours)):
        try:
            check_meter(truck=parties.truck, at=sent.made_at, meter=meter)
        except FleetError as error:
            faults.errors.append(error)
    refuse_below_fitting(parties.fitment, parties.truck, Meter(odometer_km=km, engine_hours=hours), faults)
    same = MeterReading.objects.filter(truck=parties.truck, read_at=sent.made_at).first()
    if same and km is not None and same.odometer_km is not None and abs(same.odometer_km - km) > 0.5:
        faults.add(
            "meter_differs",
            "odometer",
            f"{parties.truck} already read {same.odometer_km:,.0f} km at that very moment. Correct one of them.",
        )


def refuse_below_fitting(fitment: Fitment | None, truck: Truck, meter: Meter, faults: Faults) -> None:
    """Note meters below what they read at fitting, which a file may have brought in without a reading of its own.

    One in another truck, or a meter replaced since, says nothing. Two queries, where one is below.
    """
    if fitment is None or faults.errors:
        return
    kept = (
        ("odometer", "odometer", meter.odometer_km, fitment.fitted_odometer_km, "km"),
        ("engine_hours", "hour meter", meter.engine_hours, fitment.fitted_engine_hours, "h"),
    )
    below = [row for row in kept if row[2] is not None and row[3] is not None and row[2] < row[3]]
    if not below or truck_carrying(fitment.engine, fitment.fitted_on) != truck:
        return
    since = MeterReading.objects.filter(truck=truck, replaced_meter=True, read_at__date__gte=fitment.fitted_on)
    if since.exists():
        return
    for field, name, value, fitted, unit in below:
        faults.add(
            "meter_below_fitting",
            field,
            f"The {name} read {fitted:,.0f} {unit} when the turbocharger was fitted on "
            f"{fitment.fitted_on:%-d %b %Y}; {value:,.0f} {unit} is less. Look again, and correct it. If the meter was "
            "replaced since, record that reading on the truck's page first.",
        )


def keep_meters(user: User, parties: Parties, sent: Submission) -> None:
    """Store the meters as a reading of the truck. Two units of one engine, checked together, share it."""
    km, hours = _values(sent)
    if parties.truck is None or (km is None and hours is None):
        return
    MeterReading.objects.get_or_create(
        truck=parties.truck,
        read_at=sent.made_at,
        defaults={
            "odometer_km": km,
            "odometer_typed": sent.odometer.shown if sent.odometer else "",
            "engine_hours": hours,
            "source": "check",
            "recorded_by": user,
        },
    )


def _values(sent: Submission) -> tuple[float | None, float | None]:
    return sent.odometer.value if sent.odometer else None, sent.engine_hours.value if sent.engine_hours else None


def correct_meters(*, user: User, check: Check, field: str, kept: str, reason: str) -> None:
    """Carry an amended meter to the truck's own reading of that moment, which came from the check."""
    row = MeterReading.objects.filter(
        truck__installations__engine__fitments=check.fitment_id, read_at=check.made_at, source="check"
    ).first()
    if row is None:
        return
    value = typed_value(kept)[0]
    if field == "odometer":
        check_meter(truck=row.truck, at=row.read_at, meter=Meter(odometer_km=value))
        row.odometer_km, row.odometer_typed = value, kept
    else:
        check_meter(truck=row.truck, at=row.read_at, meter=Meter(engine_hours=value))
        row.engine_hours = value
    save_checked(row, user=user, reason=reason.strip()[:100])
