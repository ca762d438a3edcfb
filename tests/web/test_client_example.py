"""The program in README does what it says, against a server, as it stands there."""

import os
import re
import subprocess
import sys
from datetime import date

import pytest
from django.conf import settings

from checks.models import Standing
from fleet.models import MeterReading
from fleet.services.token import make_token
from tests.bay import make_bay
from tests.factories import TruckFactory

README = (settings.BASE_DIR / "README.md").read_text()


def program() -> str:
    found = re.search(r"## For programs\n.*?```python\n(.*?)```", README, re.DOTALL)
    assert found, "README lost its program."
    return found[1]


def test_the_program_is_ten_lines_long() -> None:
    assert len([line for line in program().splitlines() if line.strip()]) <= 10


@pytest.mark.django_db(transaction=True)
def test_the_program_records_a_meter_and_prints_what_is_due(live_server) -> None:
    bay = make_bay()
    truck = TruckFactory(depot=bay.depot, unit_number="114", in_service_on=date(2020, 1, 1))
    Standing.objects.create(turbocharger=bay.turbocharger, due_on=date(2027, 1, 9), sentence="Look again.")
    _, secret = make_token(
        user=bay.technician, name="README", scopes=["register:read", "register:write", "plans:read"], days=1
    )
    told = subprocess.run(
        [sys.executable, "-c", program()],
        env={**os.environ, "REGISTER_TOKEN": secret, "REGISTER_URL": live_server.url},
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    assert told.stdout.split()[:2] == [bay.turbocharger.serial, "2027-01-09"]
    reading = MeterReading.objects.get(truck=truck)
    assert (reading.odometer_km, reading.source) == (212_000, "program")
