"""A depot's bay ready for a check: people, a truck with its turbocharger, specification, instruments, a payload."""

import uuid
from copy import deepcopy
from dataclasses import dataclass
from datetime import date
from typing import Any

from checks.models import Instrument, SpecificationRevision
from fleet.models import Depot, Engine, Membership, Truck, Turbocharger, TurbochargerModel, User
from tests.factories import (
    CertificateFactory,
    CertificatePointFactory,
    DepotFactory,
    EngineFactory,
    FitmentFactory,
    GaugeFactory,
    InstallationFactory,
    InstrumentFactory,
    MembershipFactory,
    SpecificationFactory,
    TruckFactory,
    TurbochargerFactory,
    TurbochargerModelFactory,
    UserFactory,
)

MADE_AT = "2025-03-04T09:30:00+00:00"
# Rising readings of an invented actuator: psi and thousandths of an inch.
RISE = ((22, 0), (24, 8), (26, 20), (28, 35), (30, 52))


@dataclass
class Bay:
    """Everything that one check needs."""

    depot: Depot
    technician: User
    manager: User
    viewer: User
    truck: Truck
    engine: Engine
    turbocharger: Turbocharger
    specification: SpecificationRevision
    dial: Instrument
    gauge: Instrument

    def submission(self, *, travel: str = "59.5", **changes: Any) -> dict[str, Any]:
        """A payload of a good check whose reading at 31 psi is `travel` thousandths of an inch."""
        payload = {
            "key": str(uuid.uuid4()),
            "turbocharger": self.turbocharger.pk,
            "specification": self.specification.pk,
            "reason": "scheduled",
            "complaint": None,
            "made_at": MADE_AT,
            "odometer": {"text": "212000", "unit": "km"},
            "engine_hours": {"text": "5120,5", "unit": "h"},
            "instruments": {"dial": self.dial.pk, "stimulus": self.gauge.pk, "meter": None, "regulator": None},
            "alignment": {"geometry": "flat_face", "angle_deg": None, "angle_max_deg": "2"},
            "cautions_read_at": "2025-03-04T09:05:00+00:00",
            "as_found": {"readings": readings(travel)},
            "half_turns": None,
            "as_left": None,
            "note": "",
            "source": "browser",
        }
        return deepcopy(payload) | changes


def readings(travel: str, *, exercise: str = "35", cycles: int = 3) -> list[dict[str, Any]]:
    """A whole stroke in the procedure's order."""
    rows = [reading("zero", "0", "0")]
    rows += [reading("exercise", exercise) for _ in range(cycles)]
    rows += [reading("zero_return", "0", "0")]
    rows += [reading("rise", str(psi), str(thou)) for psi, thou in RISE]
    return [*rows, reading("setting", "31", travel)]


def reading(phase: str, psi: str, thou: str | None = None, seconds: str | None = None) -> dict[str, Any]:
    """One reading as typed."""
    travel = None if thou is None else {"text": thou, "unit": "thou"}
    return {"phase": phase, "stimulus": {"text": psi, "unit": "psi"}, "travel": travel, "seconds": seconds}


def person(depot: Depot, role: str) -> User:
    """Somebody who holds `role` at `depot`."""
    return MembershipFactory(user=UserFactory(), depot=depot, role=role).user


def calibrated(instrument: Instrument, *, top: float, uncertainty: float) -> Instrument:
    """Give an instrument a certificate over 0 to `top` without errors."""
    certificate = CertificateFactory(instrument=instrument)
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        CertificatePointFactory(certificate=certificate, indication=share * top, expanded_uncertainty=uncertainty)
    return instrument


def make_bay(*, model: TurbochargerModel | None = None, **specification: Any) -> Bay:
    """Set up a bay at a depot of its own."""
    depot = DepotFactory()
    truck = TruckFactory(depot=depot)
    engine = EngineFactory(depot=depot)
    InstallationFactory(truck=truck, engine=engine)
    model = model or TurbochargerModelFactory()
    turbocharger = TurbochargerFactory(depot=depot, model=model)
    FitmentFactory(turbocharger=turbocharger, engine=engine, fitted_on=date(2022, 3, 1))
    return Bay(
        depot=depot,
        technician=person(depot, Membership.Role.TECHNICIAN),
        manager=person(depot, Membership.Role.MANAGER),
        viewer=person(depot, Membership.Role.VIEWER),
        truck=truck,
        engine=engine,
        turbocharger=turbocharger,
        specification=SpecificationFactory(turbocharger_model=model, **specification),
        dial=calibrated(InstrumentFactory(depot=depot), top=12.7, uncertainty=0.005),
        gauge=calibrated(GaugeFactory(depot=depot), top=420.0, uncertainty=0.7),
    )
