"""Checks of every kind on a tablet: adjusted, electric, through a transducer, on a complaint, with what is not fit."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from checks.models import Assessment, Check, Reading
from fleet.models import Complaint, MeterReading
from tests.bay import Bay, calibrated
from tests.browser.guided import bay_in_inches, electric_bay
from tests.factories import MultimeterFactory, TransducerFactory
from tests.tapping import Taps, at_the_rise

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


@pytest.fixture
def taps(bay: Bay, page: Page, enter: Any, snap: Any) -> Taps:
    """A tablet at the step of the rise."""
    return at_the_rise(bay, page, enter, snap)


def test_an_adjustment_with_its_as_left_stroke(taps: Taps) -> None:
    page = taps.page
    taps.to_the_verdict("0.0880")
    expect(page.locator(".big-state")).to_contain_text("outside high")
    expect(page.locator(".then")).to_contain_text("1 half turn shorter")
    page.get_by_text("Turn the rod, then make the stroke again").click()
    taps.tap("Next")
    taps.at("Turn the rod")
    taps.enter("half_turns", "1")
    page.get_by_text("Shorter", exact=True).click()
    taps.shoot("adjust")
    taps.tap("Turned: the whole stroke again")
    taps.at("As left: zero both instruments")
    taps.ready("as-left-")
    taps.to_the_verdict("0.0600", "as-left-")
    expect(page.locator(".big-state")).to_contain_text("inside")
    taps.sign()
    check = Check.objects.get()
    states = Assessment.objects.order_by("stroke__moment").values_list("stroke__moment", "state")
    assert list(states) == [("as_found", "outside_high"), ("as_left", "inside")]
    assert check.half_turns == -1


def test_an_electric_actuator_is_commanded_in_per_cent(
    page: Page,
    enter: Any,
    snap: Any,
    transactional_db: None,
) -> None:
    bay = electric_bay()
    page.set_viewport_size({"width": 820, "height": 1180})
    enter(bay.technician, "/tablet/")
    taps = Taps(page, lambda name: snap(f"tablet-electric-{name}"))
    taps.begin(bay)
    taps.prepare()
    expect(page.locator(".do")).to_contain_text("Command the actuator to zero")
    taps.ready(highest="70")
    expect(page.locator(".caution-line")).to_contain_text("95.0 %")
    taps.add("50", "0.030")
    taps.enter("stimulus", "58")
    expect(page.locator(".watch")).to_contain_text("Go slowly now: 2.0 % below the setting")
    taps.enter("travel", "0.055")
    taps.shoot("rise")


def test_a_transducer_is_read_in_the_unit_of_its_meter(bay: Bay, page: Page, enter: Any, snap: Any) -> None:
    """0.1 mV per kPa: the setting of 213.7 kPa is 21.37 mV on the meter, 31 psi in the technician's unit."""
    transducer = calibrated(TransducerFactory(depot=bay.depot), top=420.0, uncertainty=0.5)
    meter = calibrated(MultimeterFactory(depot=bay.depot), top=60.0, uncertainty=0.01)
    bay.gauge.withdrawn_on = date(2025, 1, 1)
    bay.gauge.save()
    page.set_viewport_size({"width": 390, "height": 844})
    enter(bay.technician, "/tablet/")
    taps = Taps(page, lambda name: snap(f"tablet-meter-{name}"))
    taps.begin(bay)
    taps.prepare()
    taps.ready(highest="24")
    expect(page.locator(".target")).to_contain_text(f"Setting 31.00 psi (21.37 mV on {meter.label})")
    taps.add("15.17", "0.000")
    taps.enter("stimulus", "20.5")
    expect(page.locator(".watch")).to_contain_text("Go slowly now: 1.27 psi below the setting")
    taps.shoot("slow")
    taps.enter("travel", "0.04")
    taps.act().click()
    taps.pair("21.37", "0.0595")
    expect(taps.act()).to_have_text("Add at the setting")
    taps.act().click()
    taps.tap("Next")
    taps.tap("To the verdict")
    expect(page.locator(".big-state")).to_contain_text("inside")
    page.get_by_text("Leave the setting alone and sign", exact=True).click()
    taps.sign()
    check = Check.objects.get()
    assert (check.stimulus_instrument, check.meter) == (transducer, meter)
    assert Reading.objects.get(phase="setting").stimulus_unit == "mV"


def test_a_zero_that_a_vented_transducer_does_not_show_is_asked_about(bay: Bay, page: Page, enter: Any) -> None:
    """A transducer of 0.1 mV per kPa above 5 mV: 0 mV for its zero would put every reading 50 kPa off."""
    calibrated(TransducerFactory(depot=bay.depot, offset=5.0), top=420.0, uncertainty=0.5)
    calibrated(MultimeterFactory(depot=bay.depot), top=60.0, uncertainty=0.01)
    bay.gauge.withdrawn_on = date(2025, 1, 1)
    bay.gauge.save()
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    taps.prepare()
    taps.pair("0", "0")
    taps.act().click()
    expect(page.get_by_role("alert")).to_contain_text("0 mV was entered, and vented,")
    expect(page.get_by_role("alert")).to_contain_text("should show about 5 mV")
    taps.tap("Next")
    taps.at("Exercise the actuator")
    taps.step("Zero both instruments")
    page.locator("#f-stimulus").fill("5.02")
    taps.tap("Next")
    taps.at("Exercise the actuator")


def test_a_meter_that_runs_backwards_is_asked_about_once(bay: Bay, page: Page, enter: Any) -> None:
    MeterReading.objects.create(truck=bay.truck, read_at=datetime(2025, 1, 1, tzinfo=UTC), odometer_km=250_000)
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    page.get_by_text("Scheduled", exact=True).click()
    taps.enter("odometer", "120")
    taps.tap("Next")
    expect(page.locator(".hands")).to_contain_text("If the meter was replaced, press Next once more.")
    taps.tap("Next")
    taps.at("Instruments")


def test_a_set_that_cannot_prove_the_window_is_not_used_unknowingly(
    bay: Bay, page: Page, enter: Any, snap: Any
) -> None:
    bay.gauge.certificates.update(due_on=date(2025, 1, 1))
    page.set_viewport_size({"width": 820, "height": 1180})
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    page.get_by_text("Scheduled", exact=True).click()
    taps.enter("odometer", "212000")
    taps.tap("Next")
    expect(page.locator(".fitness")).to_contain_text(f"Pressure instrument {bay.gauge.label} was due for calibration")
    taps.tap("Next")
    expect(page.get_by_role("alert")).to_contain_text("This set is not fit")
    snap("tablet-unfit")
    page.get_by_label("I know this, and use the set all the same.").check()
    taps.tap("Next")
    taps.at("Cautions, once, in full")


def test_a_check_without_reason_meter_or_cautions_says_what_is_missing(
    bay: Bay, page: Page, enter: Any, snap: Any
) -> None:
    page.set_viewport_size({"width": 820, "height": 1180})
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    taps.tap("Next")
    expect(page.locator(".hands")).to_contain_text("Say why the check is made. Choose one of the reasons.")
    expect(page.locator(".hands")).to_contain_text("Enter the odometer, the engine hours, or both.")
    snap("tablet-reason-missing")
    page.get_by_text("Scheduled", exact=True).click()
    taps.enter("odometer", "212000")
    taps.tap("Next")
    taps.tap("Next")
    taps.at("Cautions, once, in full")
    taps.tap("I have read them")
    expect(page.get_by_role("alert")).to_contain_text("The cautions are not acknowledged")


def test_the_complaint_that_a_check_answers_is_chosen_and_kept(bay: Bay, page: Page, enter: Any) -> None:
    complaint = Complaint.objects.create(
        truck=bay.truck, kind=Complaint.Kind.POWER, raised_on=date(2025, 2, 1), raised_by="driver", text="Slow uphill"
    )
    page.set_viewport_size({"width": 820, "height": 1180})
    enter(bay.technician, "/tablet/")
    taps = Taps(page)
    taps.begin(bay)
    page.get_by_text("Complaint", exact=True).click()
    taps.enter("odometer", "212000")
    taps.tap("Next")
    expect(page.get_by_role("alert")).to_contain_text("Say which complaint this check answers")
    page.get_by_text("Low power, 1 Feb 2025: Slow uphill").click()
    taps.tap("Next")
    taps.tap("Next")
    page.get_by_label("I have read these and will keep to them.").check()
    taps.tap("I have read them")
    taps.ready()
    taps.to_the_verdict("0.0595")
    page.get_by_text("Leave the setting alone and sign", exact=True).click()
    taps.sign()
    assert Check.objects.get().complaint == complaint
