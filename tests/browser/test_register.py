"""The register in a real browser: a swap, a file brought in, wrong input, and pages that axe finds clean."""

from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from fleet.models import Fitment, Truck
from tests.bay import make_bay
from tests.browser.looking import broken_rules
from tests.factories import TurbochargerFactory

pytestmark = pytest.mark.django_db(transaction=True)
FILES = Path(settings.BASE_DIR) / "fixtures" / "imports"


def assert_clean(page) -> None:
    assert broken_rules(page) == []


def test_a_technician_swaps_a_turbocharger(enter, page, console, shoot):
    bay = make_bay()
    old = Fitment.objects.get(turbocharger=bay.turbocharger, removed_on=None)
    spare = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    enter(bay.technician, reverse("fleet:turbocharger", args=[bay.turbocharger.pk]))
    page.get_by_role("link", name="Swap for another").click()
    page.get_by_label("Serial number of the one that goes on").fill("no such serial")
    page.get_by_label("Why").fill("oil at the seal")
    page.get_by_label("Odometer", exact=False).first.fill("abc")
    page.get_by_role("button", name="Record the swap").click()
    page.get_by_text("No turbocharger at your depots").wait_for()
    assert page.get_by_label("Why").input_value() == "oil at the seal"
    assert_clean(page)
    shoot("register-swap-refused")
    page.get_by_label("Serial number of the one that goes on").fill(spare.serial)
    page.get_by_label("Odometer", exact=False).first.fill("")
    page.get_by_role("button", name="Record the swap").click()
    page.get_by_text("The swap is recorded.").wait_for()
    assert Fitment.objects.get(turbocharger=spare, removed_on=None).engine == old.engine
    assert_clean(page)


def test_a_manager_brings_a_file_in_after_its_trial_run(enter, page, console, shoot):
    bay = make_bay()
    bay.depot.code = "SALT"
    bay.depot.save()
    enter(bay.manager, reverse("fleet:import"))
    page.locator("input[type=file]").set_input_files(FILES / "register_broken.csv")
    page.get_by_role("button", name="Make the trial run").click()
    page.get_by_role("heading", name="Trial run of register_broken.csv").wait_for()
    page.get_by_text("must be X for these characters").first.wait_for()
    assert not Truck.objects.filter(unit_number="407").exists()
    assert_clean(page)
    shoot("register-trial-run")
    page.get_by_role("button", name="Go ahead with 1 line").dblclick()
    page.get_by_role("heading", name="register_broken.csv is in the register").wait_for()
    assert Truck.objects.filter(unit_number="407").count() == 1
