"""Rows for tests; each factory makes what its row needs and no more."""

from datetime import date
from decimal import Decimal

import factory
from django.contrib.auth.hashers import make_password
from factory.django import DjangoModelFactory

from checks.measurement.units import convert
from checks.models import (
    Certificate,
    CertificatePoint,
    DriftFit,
    Forecast,
    FuelPrice,
    Instrument,
    SpecificationRevision,
)
from fleet.models import (
    Depot,
    Engine,
    Fitment,
    Installation,
    Job,
    Membership,
    Truck,
    Turbocharger,
    TurbochargerModel,
    User,
)


class DepotFactory(DjangoModelFactory):
    """A depot with a name of its own."""

    class Meta:
        model = Depot

    code = factory.Sequence(lambda n: f"D{n}")
    name = factory.Sequence(lambda n: f"Depot {n}")


class UserFactory(DjangoModelFactory):
    """A person who belongs to no depot."""

    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"person{n}")
    password = factory.LazyFunction(lambda: make_password(None))


class MembershipFactory(DjangoModelFactory):
    """A technician at a depot."""

    class Meta:
        model = Membership

    user = factory.SubFactory(UserFactory)
    depot = factory.SubFactory(DepotFactory)
    role = Membership.Role.TECHNICIAN


class JobFactory(DjangoModelFactory):
    """A job that waits."""

    class Meta:
        model = Job

    kind = "selftest"


class TruckFactory(DjangoModelFactory):
    """A truck in service, without VIN."""

    class Meta:
        model = Truck

    depot = factory.SubFactory(DepotFactory)
    unit_number = factory.Sequence(lambda n: f"T{n:04d}")
    in_service_on = date(2020, 1, 1)


class EngineFactory(DjangoModelFactory):
    """An engine for one turbocharger, in no truck."""

    class Meta:
        model = Engine

    depot = factory.SubFactory(DepotFactory)
    serial = factory.Sequence(lambda n: f"E{n:05d}")
    model = "Skerry 11"


class InstallationFactory(DjangoModelFactory):
    """An engine in a truck of its own depot, since the start of 2021."""

    class Meta:
        model = Installation

    truck = factory.SubFactory(TruckFactory)
    engine = factory.SubFactory(EngineFactory, depot=factory.SelfAttribute("..truck.depot"))
    installed_on = date(2021, 1, 1)


class TurbochargerModelFactory(DjangoModelFactory):
    """A model with a pneumatic actuator."""

    class Meta:
        model = TurbochargerModel

    name = factory.Sequence(lambda n: f"Tern {n}")
    stimulus = TurbochargerModel.Stimulus.PNEUMATIC


class TurbochargerFactory(DjangoModelFactory):
    """A new turbocharger in a depot's stock."""

    class Meta:
        model = Turbocharger

    depot = factory.SubFactory(DepotFactory)
    serial = factory.Sequence(lambda n: f"TC{n:05d}")
    model = factory.SubFactory(TurbochargerModelFactory)
    received_on = date(2021, 1, 1)


class FitmentFactory(DjangoModelFactory):
    """A turbocharger on an engine of its own depot, since spring 2022."""

    class Meta:
        model = Fitment

    turbocharger = factory.SubFactory(TurbochargerFactory)
    engine = factory.SubFactory(EngineFactory, depot=factory.SelfAttribute("..turbocharger.depot"))
    fitted_on = date(2022, 3, 1)


class SpecificationFactory(DjangoModelFactory):
    """31 psi, window 0.038 to 0.080 in about 0.059 in, canister maximum 43 psi (common practice, no source)."""

    class Meta:
        model = SpecificationRevision

    turbocharger_model = factory.SubFactory(TurbochargerModelFactory)
    revision = factory.Sequence(lambda n: f"R{n}")
    setting = convert(31, "psi", "kPa")
    lower_mm = convert(38, "thou", "mm")
    nominal_mm = convert(59, "thou", "mm")
    upper_mm = convert(80, "thou", "mm")
    stimulus_max = convert(43, "psi", "kPa")
    capture_tolerance = convert(0.31, "psi", "kPa")
    zero_tolerance_stimulus = convert(0.3, "psi", "kPa")
    zero_tolerance_mm = convert(1, "thou", "mm")
    thread_pitch_mm = 1.0
    source_document = "Bench sheet"
    effective_from = date(2020, 1, 1)


class InstrumentFactory(DjangoModelFactory):
    """A dial indicator read to half a division of a thousandth of an inch."""

    class Meta:
        model = Instrument

    depot = factory.SubFactory(DepotFactory)
    label = factory.Sequence(lambda n: f"I-{n:03d}")
    kind = Instrument.Kind.DIAL
    division = 0.0254
    read_to = 0.5
    range_low = 0.0
    range_high = 12.7
    permissible_error = 0.013


class GaugeFactory(InstrumentFactory):
    """A test gauge with divisions of 0.2 psi."""

    kind = Instrument.Kind.GAUGE
    division = convert(0.2, "psi", "kPa")
    range_high = convert(60, "psi", "kPa")
    permissible_error = convert(0.3, "psi", "kPa")


class TransducerFactory(InstrumentFactory):
    """A pressure transducer that gives 0.1 mV per kPa."""

    kind = Instrument.Kind.TRANSDUCER
    division = None
    read_to = 1.0
    range_high = 500.0
    permissible_error = 1.0
    electrical_unit = Instrument.Electrical.MILLIVOLT
    sensitivity = 0.1


class MultimeterFactory(InstrumentFactory):
    """A multimeter that shows hundredths of a millivolt."""

    kind = Instrument.Kind.MULTIMETER
    division = 0.01
    read_to = 1.0
    range_low = -600.0
    range_high = 600.0
    permissible_error = 0.02
    error_share = 0.0005
    electrical_unit = Instrument.Electrical.MILLIVOLT


class CommandToolFactory(InstrumentFactory):
    """A tool that commands an electric actuator in steps of a tenth of a percent."""

    kind = Instrument.Kind.COMMAND
    division = 0.1
    read_to = 1.0
    range_high = 100.0
    permissible_error = 0.2


class CertificateFactory(DjangoModelFactory):
    """A certificate good for the years around 2025."""

    class Meta:
        model = Certificate

    instrument = factory.SubFactory(InstrumentFactory)
    number = factory.Sequence(lambda n: f"C{n:04d}")
    issued_on = date(2024, 1, 1)
    due_on = date(2030, 1, 1)


class CertificatePointFactory(DjangoModelFactory):
    """An as-left point without error."""

    class Meta:
        model = CertificatePoint

    certificate = factory.SubFactory(CertificateFactory)
    moment = CertificatePoint.Moment.AS_LEFT
    indication = 0.0
    error = 0.0
    expanded_uncertainty = 0.005


class FuelPriceFactory(DjangoModelFactory):
    """A price at a depot since the beginning of 2025."""

    class Meta:
        model = FuelPrice

    depot = factory.SubFactory(DepotFactory)
    valid_from = date(2025, 1, 1)
    per_litre = Decimal("1.52")
    currency = "EUR"
    typed = factory.LazyFunction(lambda: {"price": ["1.52", "per litre"]})


class DriftFitFactory(DjangoModelFactory):
    """A model's current fit: plant setting 1.5 mm, rising 0.2 mm per 100,000 km."""

    class Meta:
        model = DriftFit

    turbocharger_model = factory.SubFactory(TurbochargerModelFactory)
    route = DriftFit.Route.OWN
    units = 60
    readings = 300
    estimates = factory.LazyFunction(
        lambda: {
            "theta": [0.02, 0.1, 0.05, 0.0, 0.08],
            "beta": [1.5, 1.49, 0.2],
            "cov": [[4e-4, 0, 0], [0, 4e-4, 0], [0, 0, 1e-4]],
            "told": [True] * 5,
        }
    )
    diagnostics = factory.LazyFunction(
        lambda: {
            "converged": True, "evaluations": 12, "decrement": 1e-9, "condition": 40.0, "units": 60,
            "units_with_readings": 60, "units_with_slope": 55, "readings": 300, "readings_per_unit": 5.0,
            "batches": [], "remarks": [],
        }
    )  # fmt: skip
    inputs = "0" * 64
    code_version = "1"


class ForecastFactory(DjangoModelFactory):
    """A unit set by the plant, 50,000 km on, whose chance of being outside rises evenly to one half at 250,000 km."""

    class Meta:
        model = Forecast

    turbocharger = factory.SubFactory(TurbochargerFactory)
    fit = factory.SubFactory(DriftFitFactory, turbocharger_model=factory.SelfAttribute("..turbocharger.model"))
    setting = Forecast.Setting.PLANT
    epoch_began_on = date(2026, 1, 1)
    usage_now = 50_000.0
    readings = 3
    travel_now_mm = 1.6
    travel_now_sd_mm = 0.05
    drift_mm = 0.2
    drift_u_mm = 0.04
    p_below_now = 0.0
    p_above_now = 0.02
    level = 0.05
    due_usage = 70_000.0
    p_outside_at_horizon = 0.1
    path = factory.LazyFunction(
        lambda: [
            [50_000.0 + 10_000 * i, 1.6 + 0.02 * i, 1.5 + 0.015 * i, 1.57 + 0.018 * i, 1.63 + 0.022 * i,
             1.7 + 0.025 * i, 0.025 * i]
            for i in range(21)
        ]
    )  # fmt: skip
