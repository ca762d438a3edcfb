"""The bridge: rows become what the core reads, and a result comes back from JSON equal to itself."""

import json
import math
from datetime import date

import pytest

from checks.convert import (
    certificate_on,
    certificates_used,
    result_from_json,
    result_to_json,
    to_certificate,
    to_instruments,
    to_specification,
    to_stroke,
)
from checks.measurement import assess
from checks.measurement.calibration import Alignment
from checks.measurement.specification import Stimulus
from checks.models import Instrument
from checks.services.readings import read_stroke, scale_of
from tests.bay import make_bay, readings
from tests.factories import (
    CertificateFactory,
    CertificatePointFactory,
    InstrumentFactory,
    MultimeterFactory,
    TransducerFactory,
)

pytestmark = pytest.mark.django_db
ON = date(2025, 3, 4)


def judged(travel="59.5", **stroke) -> assess.Assessment:
    from checks.services.faults import Faults

    bay, faults = make_bay(), Faults()
    scale = scale_of(bay.specification, bay.gauge, None)
    rows = read_stroke({"readings": readings(travel, **stroke)}, "as_found", scale, faults)
    faults.settle()
    instruments = to_instruments(dial=bay.dial, stimulus=bay.gauge, meter=None, alignment=Alignment(), on=ON)
    return assess.assess(to_stroke(rows, ON), to_specification(bay.specification), instruments)


@pytest.mark.parametrize(
    ("travel", "stroke"),
    [("59.5", {}), ("95", {}), ("20", {}), ("80", {}), ("59.5", {"cycles": 0}), ("59.5", {"exercise": "50"})],
)
def test_a_result_survives_json_unchanged(travel, stroke):
    result = judged(travel, **stroke)
    stored = json.loads(json.dumps(result_to_json(result), allow_nan=False))
    assert result_from_json(stored) == result


def test_infinite_degrees_of_freedom_are_kept_as_null():
    result = judged()
    assert any(math.isinf(line.dof) for line in result.budget)
    assert None in [line["dof"] for line in result_to_json(result)["budget"]]


def test_a_result_stored_by_a_later_version_still_reads():
    stored = result_to_json(judged()) | {"a_field_of_tomorrow": 1}
    assert result_from_json(stored).state == "inside"


def test_a_specification_carries_every_value():
    row = make_bay().specification
    core = to_specification(row)
    assert core.stimulus is Stimulus.PNEUMATIC
    for name in ("setting", "lower_mm", "nominal_mm", "upper_mm", "stimulus_max", "exercise_cycles", "thread_pitch_mm"):
        assert getattr(core, name) == getattr(row, name)


def test_the_certificate_that_counts_is_the_last_issued_by_the_day():
    dial = InstrumentFactory()
    old = CertificateFactory(instrument=dial, issued_on=date(2023, 1, 1), due_on=date(2024, 1, 1))
    new = CertificateFactory(instrument=dial, issued_on=date(2025, 1, 1), due_on=date(2026, 1, 1))
    wrong = CertificateFactory(
        instrument=dial, issued_on=date(2025, 2, 1), superseded_reason="entered for another dial"
    )
    rows = [old, new, wrong]
    assert certificate_on(rows, date(2025, 3, 4)) == new
    assert certificate_on(rows, date(2024, 6, 1)) == old  # past its due date, yet it is the one that counts
    assert certificate_on(rows, date(2022, 6, 1)) is None
    assert certificates_used([dial, None], date(2025, 3, 4)) == [new.pk]


def test_as_left_points_count_and_as_found_ones_where_nothing_was_adjusted():
    certificate = CertificateFactory()
    CertificatePointFactory(certificate=certificate, moment="as_found", indication=5.0, error=0.02)
    assert [point.error for point in to_certificate(certificate).points] == [0.02]
    CertificatePointFactory(certificate=certificate, moment="as_left", indication=5.0, error=0.001)
    CertificatePointFactory(certificate=certificate, moment="as_left", indication=1.0, error=0.002)
    points = to_certificate(certificate).points
    assert [(point.indication, point.error) for point in points] == [(1.0, 0.002), (5.0, 0.001)]


def test_a_transducer_is_read_to_the_digits_of_its_meter():
    transducer, meter = TransducerFactory(), MultimeterFactory()
    dial = InstrumentFactory()
    core = to_instruments(dial=dial, stimulus=transducer, meter=meter, alignment=Alignment(), on=ON)
    assert core.stimulus.resolution == meter.division
    assert (core.stimulus.meter.electrical_unit, core.stimulus.sensitivity) == ("mV", 0.1)
    assert core.dial.range_mm == dial.range_high - dial.range_low
    assert Instrument.Kind(core.stimulus.kind) == Instrument.Kind.TRANSDUCER
