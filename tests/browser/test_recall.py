"""The gauge that was knocked is recalled in the browser, and exactly the strokes fall that the simulator's truth names.

The expected set is ``fixtures/demo/truth.json``: strokes whose pressure, by the simulator's own true error of the
gauge, never came within tolerance of the setting. No code of the recall has a part in it.
"""

import io
import json
from dataclasses import replace
from datetime import timedelta
from unicodedata import normalize

import pytest
from django.conf import settings
from django.utils import timezone
from playwright.sync_api import expect
from pypdf import PdfReader

from checks.models import Assessment, Recall
from checks.selectors.recall import strokes_of_recall, units_of_recall
from checks.services.certificate import add_certificate
from checks.services.check import record_check
from fleet.jobs.tasks import run_job
from fleet.management.demo import register, tools
from fleet.management.demo.calendar import Calendar
from fleet.management.demo.history import simulate
from fleet.management.demo.instruments import certificates
from fleet.management.demo.load import payload_of
from fleet.management.demo.register import Rows
from fleet.management.demo.streams import SEED
from fleet.management.demo.toolroom import INSTRUMENTS
from fleet.models import Job

pytestmark = pytest.mark.django_db(transaction=True)
TRUTH = json.loads((settings.BASE_DIR / "fixtures/demo/truth.json").read_text(encoding="utf-8"))["planted"]
PLANTED = TRUTH["gauge_out_of_calibration"]


@pytest.fixture
def depot_of_the_gauge(transactional_db):
    """Every check made with the gauge before it went to the laboratory, entered as people entered them."""
    history, calendar, rows = simulate(), Calendar(timezone.localdate()), Rows()
    register.load_people(rows)
    tools.load_policy(rows)
    register.load_trucks(rows, history, calendar)
    register.load_fitments(rows, history, calendar)
    specifications = tools.load_specifications(rows, calendar)
    sheet = next(sheet for sheet in INSTRUMENTS if sheet.label == PLANTED["label"])
    unknown = replace(sheet, certified=sheet.certified[:1])
    used = [one for one in INSTRUMENTS if one.depot == sheet.depot and one.label != sheet.label]
    instruments = {one.label: tools.load_instrument(rows, one, calendar, SEED) for one in (*used, unknown)}
    made = [c for c in history.checks if c.kit.stimulus.label == sheet.label and c.day < PLANTED["found_day"]]
    for check in sorted(made, key=lambda check: check.moment):
        plain = replace(check, complaint=None, reason="scheduled")
        payload = payload_of(plain, rows, specifications, instruments, calendar)
        record_check(user=rows.people[check.person.username], submission=payload)
    return rows, sheet, instruments[sheet.label], calendar, len(made)


def test_the_planted_gauge_is_recalled_and_exactly_the_planted_verdicts_fall(
    page, enter, console, shoot, depot_of_the_gauge
):
    rows, sheet, gauge, calendar, made = depot_of_the_gauge
    before = list(Assessment.objects.order_by("pk").values())
    entry = tools._certificate(sheet, certificates(sheet, SEED)[1], calendar)
    add_certificate(author=rows.manager, instrument=gauge, entry=entry)
    run_job(Job.objects.get(kind="recall").pk)
    recall = Recall.objects.get()
    enter(rows.manager, "/instruments/")
    page.get_by_role("link", name="Recalls", exact=True).click()
    page.get_by_role("link", name=gauge.label).click()
    expect(page.locator(".lead")).to_contain_text(f"{made} checks since")
    shoot("recall-unknown")
    tell_the_day(page, calendar.on(PLANTED["from_day"]))
    expect(page.locator(".lead")).to_contain_text(f"{PLANTED['checks']} checks since")
    expect(page.locator(".lead")).to_contain_text(f"{len(PLANTED['verdicts_that_fall'])} verdicts change")
    shoot("recall-known")
    assert_exactly_the_planted(page, recall, calendar)
    settle(page, recall)
    shoot("recall-closed")
    page.get_by_role("link", name="Letter to print").click()
    expect(page.get_by_role("heading", name=f"Recall of {gauge.label}")).to_be_visible()
    shoot("recall-letter")
    (sheet,) = PdfReader(io.BytesIO(page.pdf(format="A4"))).pages  # one sheet of paper
    text = " ".join(normalize("NFKC", sheet.extract_text()).split())  # without ligatures
    for words in (f"{len(PLANTED['verdicts_that_fall'])} verdicts change", "Closed on", "Seen by", "qualified people"):
        assert words in text
    assert "Back to the recall" not in text
    assert list(Assessment.objects.order_by("pk").values()) == before


def tell_the_day(page, day):
    page.get_by_role("link", name="Tell when it went wrong").click()
    page.get_by_label("It went wrong on").fill(day.isoformat())
    page.get_by_label("How is that known?").fill("It fell from the bench; two people saw it.")
    page.get_by_role("button", name="Keep it").click()


def assert_exactly_the_planted(page, recall, calendar):
    """In the records and on the page: the same strokes, no more and no fewer."""
    recall.refresh_from_db()
    planted = {(fall["serial"], calendar.on(fall["day"]), fall["moment"]) for fall in PLANTED["verdicts_that_fall"]}
    found = {
        (one.check.turbocharger.serial, one.row.made_on, one.row.original.stroke.moment)
        for one in strokes_of_recall(recall)
        if one.flips
    }
    assert found == planted
    lines = page.get_by_role("region", name="Verdicts side by side").locator("tbody tr")
    expect(lines).to_have_count(len(planted))
    shown = {lines.nth(i).locator("th a").inner_text() for i in range(lines.count())}
    assert shown == {serial for serial, _, _ in planted}


def settle(page, recall):
    """Accept what is left to see, one by one, then close."""
    waiting = [unit.turbocharger.serial for unit in units_of_recall(recall) if unit.state == "to_see"]
    assert waiting
    for serial in waiting:
        page.goto(page.url.split("/recalls/")[0] + f"/recalls/{recall.pk}/")
        page.get_by_role("link", name=f"Accept {serial} without a look").click()
        page.get_by_label("Why does it need no other look?").fill("It is on the list of this week.")
        page.get_by_role("button", name="Accept it").click()
        expect(page.get_by_text("Accepted; the reason is on the trail.")).to_be_visible()
    page.get_by_role("link", name="Close the recall").click()
    page.get_by_label("What was decided?").fill("The gauge was set right and its box padded.")
    page.get_by_role("button", name="Close it").click()
    expect(page.get_by_text("The recall is closed.")).to_be_visible()
    recall.refresh_from_db()
    assert recall.closed_at
    assert timezone.now() - recall.closed_at < timedelta(hours=1)
