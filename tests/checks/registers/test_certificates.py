"""Certificates: points in any unit, as found and as left, and what they say about the instrument."""

from datetime import date

import pytest

from checks.models import Certificate, CertificatePoint
from checks.selectors.instrument import certificate_rows
from checks.services.certificate import add_certificate, supersede_certificate
from checks.services.entry import Doubts
from checks.services.instrument import add_instrument
from fleet.problems import FleetError, FleetErrors
from tests.checks.registers.conftest import DIAL, GAUGE, MULTIMETER

pytestmark = pytest.mark.django_db
# Exact: NIST SP 811 (2008) appendix B.8.
KPA_PER_PSI = 6.894757293168361


def point(moment="as_found", indication="30", error="0.5", uncertainty="0.1", k="2"):
    return {
        "moment": moment,
        "indication": indication,
        "error": error,
        "expanded_uncertainty": uncertainty,
        "coverage_factor": k,
    }


CERTIFICATE = {
    "number": "K-1041",
    "laboratory": "Dunlin Calibration",
    "issued_on": "2026-02-01",
    "due_on": "2027-02-01",
    "note": "",
    "unit": "psi",
    "given": "error",
    "points": [point(indication="0", error="0"), point(), point(indication="60", error="-0.4")],
    "not_adjusted": True,
}


@pytest.fixture
def gauge(manager, depot):
    return add_instrument(author=manager, kind="gauge", entry={**GAUGE, "depot": str(depot.pk)})


def add(author, instrument, **changes):
    return add_certificate(author=author, instrument=instrument, entry={**CERTIFICATE, **changes})


def refused(author, instrument, **changes):
    with pytest.raises(FleetErrors) as caught:
        add(author, instrument, **changes)
    assert not Certificate.objects.exists()
    return {fault.field: fault.code for fault in caught.value.errors}


def test_points_typed_in_psi_are_kept_in_kpa_and_as_typed(manager, gauge):
    row = add(manager, gauge)
    kept = row.points.get(moment="as_found", indication__gt=100, indication__lt=300)
    assert kept.indication == pytest.approx(30 * KPA_PER_PSI, rel=1e-15)
    assert kept.error == pytest.approx(0.5 * KPA_PER_PSI, rel=1e-15)
    assert kept.typed == {
        "indication": ["30", "psi"],
        "error": ["0.5", "psi"],
        "expanded_uncertainty": ["0.1", "psi"],
    }


def test_an_instrument_that_was_not_adjusted_has_its_as_found_points_as_left(manager, gauge):
    row = add(manager, gauge)
    values = [
        list(row.points.filter(moment=moment).values_list("indication", "error", "expanded_uncertainty"))
        for moment in CertificatePoint.Moment.values
    ]
    assert len(values[0]) == 3
    assert values[0] == values[1]


def test_a_reference_value_gives_the_error_without_rounding(manager, gauge):
    """error = indication - reference: 30.1 - 29.9 is 0.2 in decimals (in binary floats it is not)."""
    given = {"moment": "as_left", "indication": "30.1", "reference": "29.9", "expanded_uncertainty": "0.1"}
    row = add(manager, gauge, given="reference", points=[given], not_adjusted=False)
    kept = row.points.get()
    assert kept.error == pytest.approx(0.2 * KPA_PER_PSI, rel=1e-15)
    assert kept.typed["reference"] == ["29.9", "psi"]
    assert kept.coverage_factor == 2


def test_a_first_certificate_may_have_as_left_points_alone(manager, gauge):
    assert add(manager, gauge, points=[point("as_left")], not_adjusted=False).points.count() == 1


def test_empty_rows_are_skipped(manager, gauge):
    empty = point(indication="", error=" ", uncertainty="")
    assert add(manager, gauge, points=[empty, point("as_left"), empty], not_adjusted=False).points.count() == 1


def test_a_multimeter_is_certified_in_what_it_reads(manager, depot):
    meter = add_instrument(author=manager, kind="multimeter", entry={**MULTIMETER, "depot": str(depot.pk)})
    row = add(manager, meter, unit="V", points=[point("as_left", "0.2", "0.0001", "0.00005")], not_adjusted=False)
    assert row.points.get().indication == pytest.approx(200, rel=1e-12)


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"number": ""}, "number", "required"),
        ({"issued_on": "2199-01-01"}, "issued_on", "out_of_bounds"),
        ({"issued_on": "2026-02-30"}, "issued_on", "not_a_date"),
        ({"due_on": "2026-02-01"}, "due_on", "certificate_due_after_issue"),
        ({"due_on": "2025-02-01"}, "due_on", "certificate_due_after_issue"),
        ({"unit": "mm"}, "points.0.indication", "unit_unknown"),
        ({"points": [point(indication="many")]}, "points.0.indication", "not_a_number"),
        ({"points": [point(), point(indication="90")]}, "points.1.indication", "out_of_bounds"),
        ({"points": [point(error="")]}, "points.0.error", "required"),
        ({"points": [point(error="NaN")]}, "points.0.error", "not_a_number"),
        ({"points": [point(uncertainty="-0.1")]}, "points.0.expanded_uncertainty", "out_of_bounds"),
        ({"points": [point(k="0.5")]}, "points.0.coverage_factor", "out_of_bounds"),
        ({"points": [point(k="95 %")]}, "points.0.coverage_factor", "not_a_number"),
        ({"points": [point(moment="later")]}, "points.0.moment", "not_a_choice"),
        ({"points": [point(), point(indication="30.0")]}, "points.1.indication", "one_point_per_indication"),
        ({"points": "30; 0.5"}, "points", "points_malformed"),
        ({"points": [point()] * 61}, "points", "too_many_points"),
        ({"not_adjusted": False}, "not_adjusted", "as_left_missing"),
        ({"points": [point(), point("as_left")]}, "not_adjusted", "adjusted_or_not"),
    ],
)
def test_each_wrong_field_is_named(manager, gauge, changes, field, code):
    assert refused(manager, gauge, **changes)[field] == code


def test_a_number_is_used_once_for_an_instrument(manager, gauge):
    add(manager, gauge)
    with pytest.raises(FleetErrors) as caught:
        add(manager, gauge, issued_on="2026-03-01")
    assert [(fault.field, fault.code) for fault in caught.value.errors] == [("number", "certificate_number_once")]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"points": [], "not_adjusted": False}, "no_points"),
        ({"due_on": "2031-02-01"}, "long_interval"),
        ({"points": [point(error="29.5")]}, "wild_error"),
    ],
)
def test_what_looks_mistaken_is_asked_about_and_then_taken(manager, gauge, changes, code):
    with pytest.raises(Doubts) as caught:
        add(manager, gauge, **changes)
    assert [doubt.code for doubt in caught.value.errors] == [code]
    assert not Certificate.objects.exists()
    assert add(manager, gauge, **changes, confirmed=True).pk


def test_an_error_at_its_limit_is_within_it_and_beyond_is_told(manager, gauge):
    """Class 1.6 of 0 to 60 psi permits ± 0.96 psi."""
    add(manager, gauge, points=[point(error="0.96")])
    add(manager, gauge, number="K-2", issued_on="2026-03-01", points=[point(error="-0.97")])
    newer, older = certificate_rows(gauge)
    assert older.worst_share == 1.0
    assert not older.out_of_tolerance
    assert newer.out_of_tolerance
    assert newer.previous == older.certificate


def test_a_certificate_entered_in_error_counts_no_more(manager, gauge):
    row = add(manager, gauge, points=[point(error="3")])
    supersede_certificate(author=manager, certificate=row, entry={"reason": "typed from the wrong sheet"})
    assert not certificate_rows(gauge)[0].out_of_tolerance
    with pytest.raises(FleetError) as caught:
        supersede_certificate(author=manager, certificate=row, entry={"reason": "again"})
    assert caught.value.status == 409


def test_superseding_needs_a_reason(manager, gauge):
    row = add(manager, gauge)
    with pytest.raises(FleetErrors) as caught:
        supersede_certificate(author=manager, certificate=row, entry={"reason": ""})
    assert [fault.field for fault in caught.value.errors] == ["reason"]


@pytest.mark.parametrize("who", ["technician", "viewer", "stranger"])
def test_only_a_manager_of_the_depot_records_certificates(request, gauge, who):
    with pytest.raises(FleetError) as caught:
        add(request.getfixturevalue(who), gauge)
    assert caught.value.status == 403


def test_a_dial_in_thou_is_certified_in_thou(manager, depot):
    """NIST SP 811 (2008) appendix B.8: 1 thou = 0.0254 mm exactly."""
    dial = add_instrument(author=manager, kind="dial", entry={**DIAL, "depot": str(depot.pk)})
    row = add(manager, dial, unit="thou", points=[point("as_left", "100", "0.4", "0.2")], not_adjusted=False)
    kept = row.points.get()
    assert (kept.indication, kept.error) == (pytest.approx(2.54), pytest.approx(0.01016))
    assert row.due_on == date(2027, 2, 1)
