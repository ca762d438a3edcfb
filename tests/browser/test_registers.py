"""The registers in a real browser: nothing in the console, nothing broken for a keyboard or a screen reader."""

from typing import Any

import pytest
from django.urls import reverse

from checks.models import Instrument, SpecificationRevision
from checks.services.certificate import add_certificate
from checks.services.instrument import add_instrument
from checks.services.specification import add_specification, revise_specification
from fleet.models import Membership, TurbochargerModel
from tests.browser.looking import broken_rules
from tests.checks.registers.conftest import COMMON, KINDS
from tests.checks.registers.test_certificates import CERTIFICATE
from tests.factories import DepotFactory, MembershipFactory, TurbochargerFactory, TurbochargerModelFactory

pytestmark = pytest.mark.django_db(transaction=True)

DESKTOP, TABLET = {"width": 1280, "height": 800}, {"width": 820, "height": 1180}


@pytest.fixture
def manager() -> Any:
    user = MembershipFactory(depot=DepotFactory(name="Saltmarsh"), role=Membership.Role.MANAGER).user
    user.first_name, user.last_name, user.pressure_unit, user.length_unit = "Ines", "Marram", "psi", "thou"
    user.save()
    return user


@pytest.fixture
def registers(manager: Any) -> dict[str, Any]:
    """A few specifications and one instrument of each kind, two of them with certificates."""
    tern, knot = TurbochargerModelFactory(name="Tern 40"), TurbochargerModelFactory(name="Knot 22")
    electric = TurbochargerModelFactory(name="Tern 60 E", stimulus=TurbochargerModel.Stimulus.ELECTRIC)
    TurbochargerFactory.create_batch(3, model=tern)
    first = add_specification(author=manager, turbocharger_model=tern, entry=COMMON)
    newer = {**COMMON, "revision": "B", "effective_from": "2025-06-01", "source_revision": "4", "note": "New lever."}
    second = revise_specification(author=manager, specification=first, entry=newer)
    metric = {
        "setting": ["185", "kPa"],
        "stimulus_max": ["260", "kPa"],
        "lower_mm": ["2.4", "mm"],
        "nominal_mm": ["3.1", "mm"],
        "upper_mm": ["3.9", "mm"],
        "zero_tolerance_stimulus": ["2", "kPa"],
        "zero_tolerance_mm": ["0.03", "mm"],
        "thread_pitch_mm": ["1", "mm"],
    }
    add_specification(author=manager, turbocharger_model=knot, entry={**COMMON, **metric})
    depot = manager.memberships.get().depot
    tools = {
        kind: add_instrument(author=manager, kind=kind, entry={**entry, "depot": str(depot.pk)})
        for kind, entry in KINDS.items()
    }
    bad = [{**point, "error": "1.4"} if point["indication"] == "30" else point for point in CERTIFICATE["points"]]
    older = {**CERTIFICATE, "number": "K-0998", "issued_on": "2025-01-20", "due_on": "2026-01-20"}
    add_certificate(author=manager, instrument=tools["gauge"], entry=older)
    add_certificate(author=manager, instrument=tools["gauge"], entry={**CERTIFICATE, "points": bad})
    points = [
        {"moment": "as_left", "indication": str(place), "error": error, "expanded_uncertainty": "0.1"}
        for place, error in [(0, "0"), (50, "0.2"), (100, "0.3"), (200, "-0.2"), (400, "0.4")]
    ]
    dialled = {**CERTIFICATE, "unit": "thou", "points": points, "not_adjusted": False, "due_on": "2026-12-10"}
    add_certificate(author=manager, instrument=tools["dial"], entry=dialled)
    return {"electric": electric, "first": first, "second": second, **tools}


def assert_accessible(page: Any) -> None:
    assert broken_rules(page) == []


def test_a_wrong_specification_keeps_everything_and_then_goes_in(page, enter, shoot, manager, registers):
    enter(manager, reverse("checks:specification_add", args=[registers["electric"].pk]))
    page.get_by_label("Name of this revision").fill("A")
    page.get_by_label("Source document").fill("Bench sheet 40")
    page.get_by_label("In force from").fill("2025-02-01")
    page.get_by_role("textbox", name="Setting command").fill("60")
    page.get_by_role("textbox", name="Highest command").fill("sixty")
    page.get_by_role("textbox", name="Zero tolerance, command").fill("0,5")
    for label, text in [("Lower limit", "90"), ("Nominal", "120"), ("Upper limit", "150")]:
        page.get_by_role("textbox", name=label).fill(text)
    page.get_by_role("textbox", name="Zero tolerance, travel").fill("1")
    page.get_by_label("Common threads").select_option("M6")
    page.get_by_role("button", name="Add it").click()
    page.get_by_text("is not a number").wait_for()
    shoot("specification-refused")
    assert page.get_by_role("textbox", name="Setting command").input_value() == "60"
    assert page.get_by_label("Common threads").input_value() == "M6"
    page.get_by_role("textbox", name="Highest command").fill("95")
    page.get_by_role("button", name="Add it").click()
    page.get_by_role("heading", name="Tern 60 E, revision A").wait_for()
    shoot("specification-added")
    row = SpecificationRevision.objects.get(turbocharger_model=registers["electric"])
    assert (row.stimulus_max, row.thread_pitch_mm, row.typed["lower_mm"]) == (95, 1.0, ["90", "thou"])


def test_a_doubled_submission_makes_one_instrument(page, enter, manager, registers):
    enter(manager, reverse("checks:instrument_add_kind", args=["regulator"]))
    page.get_by_label("Label", exact=True).fill("RG-09")
    page.get_by_role("button", name="Add it").dblclick()
    page.get_by_role("heading", name="Add a regulator").or_(page.get_by_role("heading", name="RG-09")).first.wait_for()
    assert Instrument.objects.filter(label="RG-09").count() == 1


def test_fitness_is_told_as_soon_as_the_set_is_chosen(page, console, enter, shoot, manager, registers):
    enter(manager, reverse("checks:fitness"))
    page.get_by_label("Specification").select_option(label="Tern 40, B")
    page.get_by_label("Dial indicator").select_option(label="DI-07, Saltmarsh")
    page.get_by_label("Pressure or command").select_option(label="PG-03, mechanical gauge, Saltmarsh")
    page.get_by_text("Test uncertainty ratio").wait_for()
    shoot("fitness")
    assert_accessible(page)
