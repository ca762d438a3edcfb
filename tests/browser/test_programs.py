"""What a person does for programs: reads what they can do, tries it, makes and ends a token."""

import re

import pytest
from django.test import Client
from playwright.sync_api import expect

from fleet.models import Token
from tests.bay import make_bay
from tests.factories import TruckFactory

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_list_of_operations_is_drawn_and_tried_without_a_complaint(page, enter, console, shoot) -> None:
    bay = make_bay()
    TruckFactory(depot=bay.depot, unit_number="T-77")
    enter(bay.viewer, "/api/v1/docs/")
    expect(page.locator(".opblock")).not_to_have_count(0)
    expect(page.get_by_role("heading", name="For programs")).to_be_visible()
    expect(page.get_by_role("group", name="Operations")).to_be_visible()
    expect(page.get_by_role("main")).to_have_count(1)
    shoot("programs")
    operation = page.locator("#operations-register-trucks_list")
    operation.locator(".opblock-summary-control").click()
    operation.get_by_role("button", name="Try it out").click()
    operation.get_by_role("button", name="Execute").click()
    expect(operation.locator(".live-responses-table").first).to_contain_text("T-77")
    shoot("programs-tried")


def test_a_token_is_made_shown_once_used_and_revoked(page, enter, console, shoot, live_server) -> None:
    bay = make_bay()
    enter(bay.technician, "/register/me/")
    page.get_by_role("link", name="Tokens").click()
    page.get_by_role("link", name="Make a token").click()
    page.get_by_role("button", name="Make the token").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.get_by_label("What the token is for").fill("Yard bridge")
    page.get_by_label("depots, trucks, engines").first.check()
    shoot("token-form")
    page.get_by_role("button", name="Make the token").click()
    secret = page.get_by_label("Token", exact=True)
    expect(secret).to_have_value(re.compile("^wgr_"))
    shoot("token-made")
    bearer = {"Authorization": f"Bearer {secret.input_value()}"}
    assert Client().get("/api/v1/trucks/", headers=bearer).status_code == 200
    page.get_by_role("link", name="Back to your tokens").click()
    expect(page.get_by_role("row", name="Yard bridge")).to_contain_text("register:read")
    shoot("tokens")
    page.get_by_role("link", name="Revoke Yard bridge").click()
    page.get_by_role("button", name="Revoke").click()
    expect(page.get_by_role("row", name="Yard bridge")).to_contain_text("revoked")
    assert Client().get("/api/v1/trucks/", headers=bearer).status_code == 401
    assert Token.objects.get().revoked_by == bay.technician
