"""How a stranger finds what was planted in the demonstration: from the fleet board, by links alone, three at most."""

import json
import re

from django.conf import settings
from playwright.sync_api import expect

TRUTH = json.loads((settings.BASE_DIR / "fixtures/demo/truth.json").read_text(encoding="utf-8"))
PLANTED = TRUTH["planted"]


def number(text):
    """A drift and its uncertainty as shown."""
    return tuple(float(part.replace("−", "-").replace("+", "")) for part in re.findall(r"[-+−]?\d+\.\d+", text)[:2])


def find_what_was_planted(page, shoot):
    """Find one after the other, each time from the board."""
    for find in FINDS:
        page.get_by_role("link", name="Fleet board").click()
        find(page, shoot)


def find_the_jump(page, shoot):
    """Board, unit: the reading is marked in the chart and named in the table, on the day after which it was planted."""
    serial = PLANTED["jump"]["serial"]
    page.get_by_text("Jumped since the reading before").get_by_role("link", name=serial).click()
    page.wait_for_selector("[data-figure='figure-drift'][data-drawn]")
    flagged = page.locator("tr", has=page.locator(".flag", has_text="jumped"))
    assert flagged.count() == 1
    names = page.evaluate("document.querySelector('[data-figure=figure-drift]').data.map((trace) => trace.name)")
    assert "jumped" in names
    assert "forecast, mean" in names
    shoot("found-jump")


def find_the_drifting_model(page, shoot):
    """Board, drift by model: the model is flagged, and the true drift lies within the interval shown."""
    model = PLANTED["drifting_model"]
    page.get_by_role("link", name="Drift", exact=True).click()
    row = page.locator("tr", has=page.get_by_role("link", name=model, exact=True))
    assert row.locator(".flag").inner_text() == "drifts"
    drift, expanded = number(row.locator("td").first.inner_text())
    assert abs(drift - TRUTH["models"][model]["drift_mm_per_100000_km"]) <= expanded
    assert f"Travel of {model} rises with use" in page.locator(".lead").inner_text()
    shoot("found-drifting-model")


def find_the_batch(page, shoot):
    """Board, drift by model, model: a batch is named, and its units are ones that were planted."""
    planted = PLANTED["mis_set_batch"]
    page.get_by_role("link", name="drift by model").click()
    row = page.locator("tr", has=page.get_by_role("link", name=planted["model"], exact=True))
    row.get_by_role("link", name=re.compile("reconditioned, received")).first.click()
    page.wait_for_selector("[data-figure='figure-batches'][data-drawn]")
    named = page.locator(".notice a").all_inner_texts()
    assert set(named) <= set(planted["serials"])
    assert len(named) > len(planted["serials"]) / 2
    assert "were set high" in page.locator(".lead").inner_text()
    shoot("found-batch")


def find_the_thirsty(page, shoot):
    """Board, fuel: thirsty trucks are told apart by what their wastegates do; a unit's page says it in a sentence."""
    planted = TRUTH["fuel"]
    inside = {one["truck"] for one in planted["thirsty_but_inside"] if one["to_day"] == 0}
    page.get_by_role("link", name="Fuel", exact=True).click()
    # The true effects lie within the limits shown, in per cent for each 0.1 mm.
    shown = [float(text) for text in re.findall(r"\d+\.\d", page.locator(".lead").inner_text().split("In ")[0])]
    for (low, high), side in zip(((shown[2], shown[3]), (shown[6], shown[7])), ("shortfall", "excess"), strict=True):
        assert low <= planted["percent_per_tenth_mm"][side] <= high
    said = {title: set(page.get_by_role("region", name=title, exact=True).locator("tbody th").all_inner_texts())
            for title in ("Thirsty and inside", "Thirsty and outside")}  # fmt: skip
    assert said["Thirsty and inside"] == inside
    assert len(said["Thirsty and outside"]) >= len(planted["silent_outside"])
    shoot("found-thirsty")
    silent = page.get_by_role("region", name="Thirsty and outside").get_by_role("link").first
    silent.click()
    page.wait_for_selector("[data-figure='figure-unit-fuel']")
    part = page.get_by_role("region", name="Fuel", exact=True)
    expect(part).to_contain_text("more than its own level since")
    expect(part).to_contain_text("Set it right first")
    part.scroll_into_view_if_needed()
    page.wait_for_selector("[data-figure='figure-unit-fuel'][data-drawn]")
    shoot("found-silent")


def find_what_was_restored(page, shoot):
    """Board, fuel, units restored: those that stood outside gave fuel back, and the mean says how much."""
    page.get_by_role("link", name="Fuel", exact=True).click()
    page.get_by_role("link", name="Restored units", exact=True).click()
    expect(page.locator(".lead")).to_contain_text("gave back")
    page.wait_for_selector("[data-figure='figure-restored'][data-drawn]")
    told = set(page.get_by_role("region", name="Restorations", exact=True).locator("tbody th a").all_inner_texts())
    stood = {one["truck"] for one in TRUTH["fuel"]["stood_outside"] if not one["left"]}
    assert len(told & stood) > 0.7 * len(stood)
    shoot("found-restored")


def find_those_nobody_complained_about(page, shoot):
    """Board, complaints, complaints against travel: the silent units are those that were planted, and no others."""
    page.get_by_role("link", name="Complaints", exact=True).click()
    page.get_by_role("link", name="Do fuel complaints go with travel").click()
    serials = page.get_by_role("region", name="Silent trucks").locator("tbody td:nth-of-type(1)").all_inner_texts()
    assert set(serials) == set(TRUTH["fuel"]["silent_outside"])
    expect(page.locator(".lead")).to_contain_text("times as high")
    page.wait_for_selector("[data-figure='figure-lags'][data-drawn]")
    shoot("found-silent-trucks")


def find_the_odd_depot(page, shoot):
    """Board, instruments, measurement studies: the depot whose dial leans stands out, by the share that was planted."""
    planted = PLANTED["depot_that_measures_differently"]
    page.get_by_role("link", name="Instruments", exact=True).click()
    page.get_by_role("link", name="Measurement studies").click()
    compared = page.get_by_role("region", name="Depots compared on the same units")
    odd = compared.get_by_role("row").filter(has_text="stands out")
    expect(odd).to_have_count(1)
    expect(odd).to_contain_text(planted["depot"])
    sentence = page.locator(".depots-compared .notice").inner_text()
    share = float(re.findall(r"\((\d+\.\d) %\)", sentence)[0])
    assert abs(share - 100 * planted["reads_high_by_share"]) < 1.0
    shoot("found-odd-depot")


FINDS = (
    find_the_jump, find_the_drifting_model, find_the_batch, find_the_thirsty, find_what_was_restored,
    find_those_nobody_complained_about, find_the_odd_depot,
)  # fmt: skip
