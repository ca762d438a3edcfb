"""Charts away from the desk: on paper all are there, light and as wide as the sheet; on a phone no words collide."""

from itertools import pairwise

import pytest
from playwright.sync_api import Page, expect

from checks.models import Study
from checks.services.study_plan import plan_study
from tests.bay import Bay, make_bay, person
from tests.studies import plan_entry, read_study

pytestmark = pytest.mark.django_db(transaction=True)
PEOPLE = (("Orla", "Sedge-Fenwick"), ("Bramwell", "Marram"), ("Thessaly", "Oakenshaw"))
# A4 less the margins of the style sheet, in CSS pixels of a 96th of an inch (ISO 216; CSS Values, absolute lengths).
SHEET_PX = (210 - 2 * 14) / 25.4 * 96


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return make_bay()


@pytest.fixture
def study(bay: Bay) -> Study:
    """Three technicians read eight parts twice."""
    people = [bay.technician, bay.manager, person(bay.depot, "technician")]
    for user, (first, last) in zip(people, PEOPLE, strict=True):
        user.first_name, user.last_name = first, last
        user.save()
    return read_study(
        bay, plan_study(author=bay.manager, depot=bay.depot, entry=plan_entry(bay, people, parts=8, trials=2))
    )


def drawn(page: Page) -> None:
    """Both charts, without scrolling to them."""
    expect(page.locator("[data-drawn=yes]")).to_have_count(2, timeout=30_000)


def test_a_chart_that_nobody_scrolled_to_is_on_the_paper_and_light(
    study: Study, bay: Bay, page: Page, enter, console
) -> None:
    page.emulate_media(color_scheme="dark")
    enter(bay.manager, f"/studies/{study.pk}/")
    drawn(page)
    on_screen = page.locator(".main-svg").first.evaluate("svg => [svg.clientWidth, svg.style.background]")
    assert on_screen[0] > SHEET_PX
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    for width, ground in page.locator(".chart .main-svg:first-child").evaluate_all(
        "all => all.map(svg => [svg.clientWidth, svg.style.background])"
    ):
        assert width <= SHEET_PX + 1
        assert ground == "rgb(251, 250, 247)", "the light theme's paper"
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    page.wait_for_function(
        """([width, ground]) => [...document.querySelectorAll('.chart .main-svg:first-child')]
           .every(svg => svg.clientWidth === width && svg.style.background === ground)""",
        arg=on_screen,
    )


def test_the_words_of_a_chart_keep_apart_on_a_phone(study: Study, bay: Bay, page: Page, enter, console) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    enter(bay.manager, f"/studies/{study.pk}/")
    drawn(page)
    for figure in ("figure-ranges", "figure-means"):
        words = page.locator(f"[data-figure={figure}]").evaluate(
            "chart => [...chart.querySelectorAll('.xtick text, .legendtext, .annotation-text, .g-xtitle text')]"
            ".map(text => [text.textContent, text.getBoundingClientRect().toJSON()])"
        )
        assert {" ".join(name) for name in PEOPLE} <= {text for text, _ in words}
        frame = page.locator(f"[data-figure={figure}]").bounding_box()
        for text, box in words:
            assert box["left"] >= frame["x"] - 1, text
            assert box["right"] <= frame["x"] + frame["width"] + 1, text
        ticks = sorted((box["left"], box["right"]) for text, box in words if text.isdigit())
        assert len(ticks) == len(PEOPLE)
        assert all(right < left for (_, right), (left, _) in pairwise(ticks))
