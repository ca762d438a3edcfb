"""Entries as a person types them, and three people: a manager, a technician, a viewer of one depot."""

from typing import Any

import pytest

from fleet.models import Membership, TurbochargerModel
from tests.factories import DepotFactory, MembershipFactory, TurbochargerModelFactory

# The trade's common check values; common practice, no source.
COMMON: dict[str, Any] = {
    "revision": "A",
    "source_document": "Bench sheet 12",
    "source_revision": "3",
    "effective_from": "2024-01-01",
    "note": "",
    "setting": ["31", "psi"],
    "stimulus_max": ["43", "psi"],
    "capture_tolerance": ["1", "% of setting"],
    "zero_tolerance_stimulus": ["0.25", "psi"],
    "exercise_cycles": "3",
    "lower_mm": ["0.038", "in"],
    "nominal_mm": ["0.059", "in"],
    "upper_mm": ["0.080", "in"],
    "zero_tolerance_mm": ["1", "thou"],
    "thread_pitch_mm": ["28", "threads per inch"],
    "adjustment_sign": "1",
    "adjustment_range_half_turns": "6",
}
DIAL: dict[str, Any] = {
    "label": "DI-07",
    "description": "dial indicator",
    "range_high": ["0.5", "in"],
    "division": ["0.5", "thou"],
    "permissible_error": ["1", "thou"],
    "read_to": "0.5",
}
GAUGE: dict[str, Any] = {
    "label": "PG-03",
    "description": "",
    "range_low": ["0", "psi"],
    "range_high": ["60", "psi"],
    "division": ["1", "psi"],
    "permissible_error": ["1.6", "% of span"],
    "read_to": "0.5",
}
TRANSDUCER: dict[str, Any] = {
    "label": "PT-01",
    "description": "",
    "range_low": ["0", "psi"],
    "range_high": ["100", "psi"],
    "permissible_error": ["0.25", "% of span"],
    "sensitivity": ["2", "mV/psi"],
    "offset": ["0,5", "mV"],
}
MULTIMETER: dict[str, Any] = {
    "label": "MM-02",
    "description": "",
    "electrical_unit": "mV",
    "range_low": ["-400", "mV"],
    "range_high": ["400", "mV"],
    "division": ["0.1", "mV"],
    "permissible_error": ["3", "digits"],
    "error_share": ["0.5", "% of reading"],
}
COMMAND: dict[str, Any] = {
    "label": "CT-01",
    "description": "",
    "range_low": ["0", "%"],
    "range_high": ["100", "%"],
    "division": ["0.1", "%"],
    "permissible_error": ["0.5", "%"],
}
REGULATOR: dict[str, Any] = {"label": "RG-01", "description": "", "range_high": ["", "psi"]}
KINDS = {
    "dial": DIAL,
    "gauge": GAUGE,
    "transducer": TRANSDUCER,
    "multimeter": MULTIMETER,
    "command": COMMAND,
    "regulator": REGULATOR,
}


@pytest.fixture
def depot(db: None) -> Any:
    return DepotFactory(name="Saltmarsh")


def _member(depot: Any, role: str) -> Any:
    return MembershipFactory(depot=depot, role=role).user


@pytest.fixture
def manager(depot: Any) -> Any:
    return _member(depot, Membership.Role.MANAGER)


@pytest.fixture
def technician(depot: Any) -> Any:
    return _member(depot, Membership.Role.TECHNICIAN)


@pytest.fixture
def viewer(depot: Any) -> Any:
    return _member(depot, Membership.Role.VIEWER)


@pytest.fixture
def stranger(db: None) -> Any:
    """A manager of another depot."""
    return MembershipFactory(role=Membership.Role.MANAGER).user


@pytest.fixture
def pneumatic(db: None) -> Any:
    return TurbochargerModelFactory(name="Tern 40")


@pytest.fixture
def electric(db: None) -> Any:
    return TurbochargerModelFactory(name="Tern 60 E", stimulus=TurbochargerModel.Stimulus.ELECTRIC)
