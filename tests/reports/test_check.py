"""The page of a check shows the verdict and everything that it rests on."""

from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from checks.models import Amendment, Assessment, Check
from checks.services.check import record_check
from fleet.models import Depot
from reports.selectors.check import check_page
from tests.bay import make_bay, readings
from tests.factories import CommandToolFactory, TurbochargerModelFactory
from tests.reports.check_page import page

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("name", ["check", "check_sheet"])
def test_page_and_sheet_say_the_verdict_and_what_it_was_made_with(checked, signed_in, name):
    bay = make_bay()
    check = checked(bay, travel="59.5", note="Coupling stiff <b>")
    text = page(signed_in, bay.viewer, check, name)
    for shown in (
        "Inside: 1.511 ± 0.0",
        "conformance probability of over 99 %",
        bay.dial.label,
        bay.gauge.label,
        bay.specification.source_document,
        f"revision {bay.specification.revision}",
        "213.7 kPa",
        "296.5 kPa",
        "within 2° of the rod",
        "59.5 thou",
        bay.technician.display_name,
        "Coupling stiff &lt;b&gt;",
    ):
        assert shown in text


def test_every_line_of_the_budget_is_on_the_page(checked, signed_in):
    bay = make_bay()
    check = checked(bay)
    text = page(signed_in, bay.viewer, check)
    result = Assessment.objects.get(stroke__check_made=check).result
    assert len(result["budget"]) > 5
    for line in result["budget"]:
        letter, _, index = line["symbol"].partition("_")
        lowered = f"<sub>{index}</sub>" if index else ""
        assert f'<th scope="row">{letter}{lowered}</th><td>{line["source"]}</td>' in text
    assert f"k = {result['coverage_factor']:.2f}" in text


def test_the_lines_of_the_budget_add_up_to_the_stated_uncertainty(checked):
    """Root sum of squares (JCGM 100, 5.1.2) and U = k u (6.2.1), from the numbers on the page."""
    bay = make_bay()
    (stroke,) = check_page(user=bay.viewer, pk=checked(bay).pk).strokes
    total = sum(float(row.contribution) ** 2 for row in stroke.budget.rows) ** 0.5
    assert float(stroke.budget.combined) == pytest.approx(total, rel=0.01)
    expanded = float(stroke.budget.coverage_factor) * total
    assert float(stroke.budget.expanded) == pytest.approx(expanded, rel=0.05)


def test_a_void_check_has_no_verdict_and_says_what_to_repeat(checked, signed_in):
    bay = make_bay()
    stroke = [row for row in readings("59.5") if row["phase"] != "zero_return"]
    check = checked(bay, as_found={"readings": stroke})
    text = page(signed_in, bay.viewer, check)
    (void,) = Assessment.objects.get(stroke__check_made=check).result["voids"]
    assert "Void, there is no verdict." in text
    assert void["sentence"].split("'")[0] in text
    assert void["repeat"].split("'")[0] in text
    assert "Inside:" not in text


def test_an_adjusted_check_shows_both_strokes_what_was_advised_and_what_was_done(checked, signed_in):
    bay = make_bay()
    check = checked(bay, travel="95", left="59")
    found = check_page(user=bay.viewer, pk=check.pk)
    assert [stroke.verdict.state for stroke in found.strokes] == ["outside_high", "inside"]
    assert found.opening.startswith("As left, inside: 1.4")
    text = page(signed_in, bay.viewer, check)
    assert found.strokes[0].advice in text.replace("&#x27;", "'")
    assert "shorter" in found.strokes[0].advice
    assert "2 half turns shorter" in text


def test_the_viewer_reads_their_own_units(checked, signed_in):
    bay = make_bay()
    check = checked(bay)
    bay.viewer.pressure_unit, bay.viewer.length_unit, bay.viewer.distance_unit = "psi", "thou", "mi"
    bay.viewer.save()
    text = page(signed_in, bay.viewer, check)
    assert "Inside: 59.5 ± 1." in text
    assert "31.00 psi" in text
    assert "126,138 mi" in text  # 203,000 km at 1.609344 km a mile (NIST SP 811, appendix B.8)


def test_reasons_of_a_void_check_are_told_in_the_viewers_units(checked):
    """43 psi is 296.47 kPa (NIST SP 811, appendix B.8)."""
    bay = make_bay()
    check = checked(bay, as_found={"readings": readings("59.5", exercise="44")})
    kept = check_page(user=bay.viewer, pk=check.pk).last.verdict
    bay.viewer.pressure_unit = "psi"
    told = check_page(user=bay.viewer, pk=check.pk).last.verdict
    assert "296.47 kPa" in kept.sentence
    assert "43.00 psi" in told.sentence
    assert "kPa" not in told.sentence


def test_the_number_of_queries_stays_with_more_readings_and_amendments(checked, no_writes):
    bay = make_bay()
    plain, busy = checked(bay, days_ago=40), checked(bay, days_ago=20, travel="95", left="59")
    for n in range(4):
        Amendment.objects.create(
            check_made=busy, field="note", old_value="", new_value=str(n), reason="x", author=bay.manager
        )

    def cost(check):
        with CaptureQueriesContext(connection) as captured, no_writes():
            check_page(user=bay.viewer, pk=check.pk)
        return len(captured)

    assert cost(plain) == cost(busy) <= 20


def test_an_electric_actuator_is_shown_in_per_cent(signed_in):
    model = TurbochargerModelFactory(stimulus="electric")
    limits = {"setting": 60.0, "stimulus_max": 95.0, "capture_tolerance": 1.0, "zero_tolerance_stimulus": 1.0}
    bay = make_bay(model=model, **limits)
    tool = CommandToolFactory(depot=bay.depot)
    rows = [{"phase": p, "stimulus": {"text": s, "unit": "%"}, "travel": t, "seconds": None} for p, s, t in _electric()]
    payload = bay.submission(as_found={"readings": rows})
    payload["instruments"]["stimulus"] = tool.pk
    check = record_check(user=bay.technician, submission=payload)
    text = page(signed_in, bay.viewer, check)
    assert "60.0 %" in text
    assert "start-of-travel command" in text
    assert "no certificate" in text


def _electric():
    def mm(text):
        return {"text": text, "unit": "mm"}

    yield "zero", "0", mm("0")
    yield from [("exercise", "90", None)] * 3
    yield "zero_return", "0", mm("0")
    yield from [("rise", s, mm(t)) for s, t in (("20", "0.4"), ("35", "0.8"), ("50", "1.25"))]
    yield "setting", "60", mm("1.5")


def test_a_check_is_told_by_the_clock_of_its_depot(checked, signed_in):
    """On the page and on its sheet, 13 hours ahead of UTC in March (Auckland keeps summer time until April)."""
    bay = make_bay()
    made = checked(bay, days_ago=3)
    Depot.objects.filter(pk=bay.depot.pk).update(time_zone="Pacific/Auckland")
    Check.objects.filter(pk=made.pk).update(made_at=datetime(2025, 3, 4, 12, 30, tzinfo=UTC))
    for name in ("reports:check", "reports:check_sheet"):
        text = signed_in(bay.viewer).get(reverse(name, args=[made.pk])).content.decode()
        assert "5 Mar 2025, 01:30" in text
        assert "4 Mar 2025" not in text
    unit = signed_in(bay.viewer).get(reverse("reports:unit", args=[bay.turbocharger.pk])).content.decode()
    assert "5 Mar 2025</a>" in unit
