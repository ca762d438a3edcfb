"""A complaint is filed in two taps, tells its evidence, and drives the next look."""

from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from checks.services.check import record_check
from fleet.models import Complaint
from tests.bay import Bay, make_bay

pytestmark = pytest.mark.django_db(transaction=True)
TABLETS = [{"width": 1180, "height": 820}, {"width": 820, "height": 1180}]
# A gloved hand needs this much: our own rule, no source.
HAND = 56


@pytest.fixture
def bay() -> Bay:
    return make_bay()


def large(page: Page, name: str, least: int = HAND) -> None:
    box = page.get_by_role("button", name=name, exact=True).bounding_box()
    assert box is not None
    assert box["height"] >= least, f"{name} is {box['height']} px high"


@pytest.mark.parametrize("tablet", TABLETS, ids=["wide", "tall"])
def test_two_taps_on_the_unit_file_a_complaint(
    bay: Bay, page: Page, enter: Any, console: list[str], shoot: Any, tablet: Any
) -> None:
    page.set_viewport_size(tablet)
    enter(bay.technician, reverse("reports:unit", args=[bay.turbocharger.pk]))
    page.get_by_role("link", name="File a complaint").click()
    for kind in ("Fuel economy", "Low power", "Smoke", "Noise", "Over-temperature", "Other"):
        large(page, kind)
    shoot(f"complaint-file-{tablet['width']}")
    page.get_by_role("button", name="Fuel economy", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Fuel economy, truck")
    expect(page.locator(".evidence")).to_contain_text("had not been checked since it was fitted")
    expect(page.locator(".next-step")).to_contain_text("Check it now.")
    shoot(f"complaint-{tablet['width']}")
    row = Complaint.objects.get()
    assert (row.kind, row.raised_by, row.raised_on) == (
        "fuel_economy",
        bay.technician.display_name,
        timezone.localdate(),
    )


@pytest.mark.parametrize(
    "start",
    [
        lambda bay: reverse("reports:board"),
        lambda bay: reverse("fleet:truck", args=[bay.truck.pk]),
    ],
    ids=["board", "truck"],
)
def test_two_taps_on_the_board_and_on_the_truck(
    bay: Bay, page: Page, enter: Any, console: list[str], start: Any
) -> None:
    page.set_viewport_size(TABLETS[0])
    enter(bay.technician, start(bay))
    page.get_by_role("link", name="File a complaint").click()
    page.get_by_role("button", name="Smoke", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Smoke, truck")
    assert Complaint.objects.get().truck == bay.truck


def test_a_double_tap_files_one_complaint(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.technician, reverse("checks:complaint_file", args=[bay.truck.pk]))
    page.get_by_role("button", name="Smoke", exact=True).dblclick()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Smoke, truck")
    assert Complaint.objects.count() == 1


def test_an_open_complaint_stands_in_the_due_list_until_it_is_closed(
    bay: Bay, page: Page, enter: Any, console: list[str]
) -> None:
    record_check(user=bay.technician, submission=fresh(bay))
    enter(bay.technician, reverse("checks:complaint_file_unit", args=[bay.turbocharger.pk]))
    page.get_by_label("In their words").fill("No pull on the hill.")
    page.get_by_role("button", name="Low power", exact=True).click()
    expect(page.get_by_text("No pull on the hill.")).to_be_visible()
    enter(bay.manager, reverse("reports:due"))
    row = page.get_by_role("row").filter(has_text=bay.truck.unit_number)
    expect(row).to_contain_text("A complaint (low power) is open since")
    enter(bay.manager, reverse("reports:complaint", args=[Complaint.objects.get().pk]))
    page.get_by_role("link", name="Close with a finding").click()
    page.get_by_label("What was found").fill("Brake dragged.")
    page.get_by_role("button", name="Close it").click()
    expect(page.get_by_text("Brake dragged.", exact=True)).to_be_visible()
    page.goto(page.url.split("/complaints/")[0] + reverse("reports:due"))
    expect(page.get_by_text("A complaint (low power)")).to_have_count(0)


def test_a_complaint_is_amended_with_its_reason(bay: Bay, page: Page, enter: Any, console: list[str]) -> None:
    row = Complaint.objects.create(truck=bay.truck, kind="noise", raised_on=timezone.localdate(), raised_by="driver")
    enter(bay.technician, reverse("reports:complaint", args=[row.pk]))
    page.get_by_role("link", name="Amend").click()
    page.get_by_label("What is wrong").select_option("smoke")
    page.get_by_label("Why it is amended").fill("Heard wrong.")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Smoke, truck")
    page.get_by_text("Record of changes").click()
    expect(page.get_by_text("Heard wrong.")).to_be_visible()


def test_a_viewer_is_offered_nothing_to_file(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.viewer, reverse("reports:board"))
    expect(page.get_by_role("link", name=bay.truck.unit_number, exact=True)).to_be_visible()
    expect(page.get_by_role("link", name="File a complaint")).to_have_count(0)


def fresh(bay: Bay) -> dict[str, Any]:
    """A good check made yesterday, so that nothing else is due."""
    made = timezone.now() - timezone.timedelta(days=1)
    read = made - timezone.timedelta(minutes=20)
    return bay.submission(made_at=made.isoformat(), cautions_read_at=read.isoformat())
