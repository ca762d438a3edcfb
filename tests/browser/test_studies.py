"""A study in the browser: planned, printed, entered from the keyboard, analysed, published, withdrawn."""

import pytest
from playwright.sync_api import Page, expect

from checks.models import Publication, Study
from tests.bay import Bay, make_bay, person
from tests.studies import filled_study, planned_study

pytestmark = pytest.mark.django_db(transaction=True)
TRAVELS = {1: "1.21", 2: "1.5", 3: "1.78"}


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    bay = make_bay()
    for user, names in ((bay.technician, ("Orla", "Sedge")), (bay.manager, ("Bram", "Marram"))):
        user.first_name, user.last_name = names
        user.save()
    return bay


def plan(page: Page, bay: Bay) -> Study:
    page.get_by_label("Name").fill("Autumn study")
    page.get_by_label("Specification").select_option(str(bay.specification.pk))
    page.get_by_label("Turbochargers").fill(bay.turbocharger.serial)
    page.get_by_label("Bench units").fill("Bench 1\nBench 2")
    page.get_by_label("Orla Sedge").check()
    page.get_by_label("Bram Marram").check()
    page.get_by_label("Trials").fill("2")
    page.get_by_label("Dial indicator").select_option(str(bay.dial.pk))
    page.get_by_label("Pressure instrument or command tool").select_option(str(bay.gauge.pk))
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_text("12 readings leave 6 degrees of freedom")).to_be_visible()
    expect(page.get_by_label("Orla Sedge")).to_be_checked()
    page.get_by_label("I mean it so").check()
    page.get_by_role("button", name="Plan it").click()
    expect(page.locator(".lead")).to_contain_text("12 readings in a random order")
    return Study.objects.get()


def type_readings(page: Page, study: Study) -> None:
    """Every reading from the keyboard alone, in the order; the third trial of nothing is hurried."""
    rows = list(study.readings.select_related("part"))
    for row in rows:
        expect(page.get_by_role("heading", level=1)).to_contain_text(f"Place {row.place}: {row.part.name}")
        box = page.get_by_label("Travel at the setting", exact=True)
        expect(box).to_be_focused()
        wiggle = (row.place * 7) % 5 - 2
        page.keyboard.type(f"{TRAVELS[row.part.number]}{5 + wiggle}")
        page.keyboard.press("Enter")
        if row is not rows[-1]:
            expect(page.get_by_role("status")).to_contain_text(f"Place {row.place} is kept")


def see_charts(page: Page) -> None:
    """Charts are drawn once they come near."""
    for name in ("figure-ranges", "figure-means"):
        page.locator(f"[data-figure={name}]").scroll_into_view_if_needed()
        expect(page.locator(f"[data-figure={name}][data-drawn=yes]")).to_be_visible(timeout=30_000)


def test_a_study_from_its_plan_to_its_publication(page, enter, shoot, bay):
    enter(bay.manager, "/instruments/")
    page.get_by_role("link", name="Measurement studies").click()
    expect(page.locator(".lead")).to_contain_text("has studied yet")
    page.get_by_role("link", name="Plan a study").click()
    page.get_by_text("How large should it be?").click()
    shoot("study-plan")
    study = plan(page, bay)
    page.get_by_role("link", name="Order to print").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Order of readings")
    expect(page.locator("tbody tr")).to_have_count(12)
    shoot("study-sheet")
    page.get_by_role("link", name="Back to the study").click()
    page.get_by_role("link", name="Enter readings").click()
    type_readings(page, study)
    expect(page.locator(".lead")).to_contain_text("of the window")
    see_charts(page)
    shoot("study-read-whole")
    page.get_by_role("link", name="Publish it").click()
    expect(page.locator(".lead")).to_contain_text("carry a repeatability of")
    page.get_by_label("Why?").fill("The first study of this bay.")
    page.get_by_role("button", name="Publish it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("published")
    assert Publication.objects.get().ended_at is None
    page.get_by_role("link", name="Withdraw it").click()
    page.get_by_label("Why?").fill("The dial was dropped.")
    page.get_by_role("button", name="Withdraw it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("withdrawn")
    expect(page.get_by_text("The dial was dropped.")).to_be_visible()
    shoot("study-withdrawn")


def test_a_number_that_was_not_kept_yet_comes_back(page, enter, console, bay):
    study = planned_study(bay)
    enter(bay.technician, f"/studies/{study.pk}/read/")
    box = page.get_by_label("Travel at the setting", exact=True)
    expect(box).to_be_focused()
    page.keyboard.type("1.23")
    page.reload()
    expect(box).to_have_value("1.23")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("1.23 mm")
    expect(box).to_have_value("")


def test_a_mistaken_travel_is_asked_about_then_amended_with_a_reason(page, enter, shoot, bay):
    study = planned_study(bay)
    enter(bay.technician, f"/studies/{study.pk}/read/")
    page.get_by_label("Travel at the setting", exact=True).fill("15.2")
    page.keyboard.press("Enter")
    expect(page.get_by_text("lies far from the window")).to_be_visible()
    expect(page.get_by_label("Travel at the setting", exact=True)).to_have_value("15.2")
    shoot("study-doubt")
    page.get_by_label("I have looked again").check()
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("status")).to_contain_text("Place 1 is kept")
    page.get_by_text("The order", exact=True).click()
    page.get_by_role("link", name="amend place 1").click()
    page.get_by_role("textbox", name="Travel at the setting").fill("1.52")
    page.get_by_label("Why it is amended").fill("The point was left out.")
    page.get_by_role("button", name="Amend it").click()
    expect(page.get_by_text("from 15.2 mm to 1.52 mm")).to_be_visible()


@pytest.mark.parametrize("size", [(1440, 900), (1180, 820), (820, 1180), (390, 844)])
def test_pages_of_a_large_study_fit_every_screen(page, enter, console, shoot, bay, size):
    people = [str(one.pk) for one in (bay.technician, bay.manager, person(bay.depot, "technician"))]
    study = filled_study(bay, parts=10, trials=3, technicians=people)
    begun = planned_study(bay, name="Begun", parts=10, trials=3, technicians=people)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    for name, address in (
        ("list", "/studies/"),
        ("analysis", f"/studies/{study.pk}/"),
        ("sheet", f"/studies/{study.pk}/order/"),
        ("read", f"/studies/{begun.pk}/read/"),
        ("begun", f"/studies/{begun.pk}/"),
        ("plan", "/studies/plan/"),
    ):
        enter(bay.manager, address)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        if name == "analysis":
            see_charts(page)
        page.wait_for_function("w => document.documentElement.scrollWidth <= w", arg=size[0])
        shoot(f"study-{name}-{size[0]}")
