"""Labels are printed on sheets, and an independent reader finds in each code the address of its turbocharger."""

import re
from datetime import date
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.components.code_mark import code_mark
from checks.selectors.label import label_address, label_code, unit_of_label
from fleet.models import Turbocharger
from fleet.problems import FleetError
from reports.selectors.labels import A_SHEET, label_sheets
from tests.bay import make_bay
from tests.factories import TurbochargerFactory

pytestmark = pytest.mark.django_db


def text_of(signed_in: Any, user: Any, address: str) -> str:
    answer = signed_in(user).get(address)
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_the_code_leads_to_the_page_of_its_unit(signed_in: Any) -> None:
    bay = make_bay()
    address = label_address(bay.turbocharger)
    assert address.startswith(f"{settings.SITE_URL}/tablet/t/")
    answer = signed_in(bay.viewer).get(address.removeprefix(settings.SITE_URL))
    assert (answer.status_code, answer.url) == (302, f"/units/{bay.turbocharger.pk}/")


def test_a_code_is_read_in_small_letters_too() -> None:
    bay = make_bay()
    assert unit_of_label(bay.viewer, label_code(bay.turbocharger).lower()) == bay.turbocharger


@pytest.mark.parametrize("code", ["", "-", "0-0", "ZZZZZZZZZZZZZZ-12345", "ZZZZU1-ABCDE", "ZZZZ7"])
def test_a_code_that_names_nothing_says_so(code: str) -> None:
    with pytest.raises(FleetError) as refusal:
        unit_of_label(make_bay().viewer, code)
    assert (refusal.value.code, refusal.value.status) == ("unknown_label", 404)


def test_the_label_of_another_register_or_an_older_serial_opens_no_unit() -> None:
    bay = make_bay()
    old = label_code(bay.turbocharger)
    bay.turbocharger.serial = f"{bay.turbocharger.serial}-corrected"
    bay.turbocharger.save()
    with pytest.raises(FleetError) as refusal:
        unit_of_label(bay.viewer, old)
    assert refusal.value.code == "label_of_another"


def test_another_depots_label_is_unknown() -> None:
    with pytest.raises(FleetError, match="No turbocharger at your depots"):
        unit_of_label(make_bay().manager, label_code(make_bay().turbocharger))


def test_codes_differ_and_hold_only_letters_that_are_not_misread() -> None:
    units = [Turbocharger(pk=pk, serial=f"S{pk}") for pk in range(1, 3000)]
    codes = [label_code(unit) for unit in units]
    assert len(set(codes)) == len(codes)
    assert all(re.fullmatch(r"[0-9A-HJKMNP-TV-Z]+-[0-9A-HJKMNP-TV-Z]{5}", code) for code in codes)


def test_a_code_has_its_quiet_margin_and_its_three_corners() -> None:
    """A margin of four light modules; corner patterns of seven (ISO/IEC 18004, 6.3.3 and 6.3.8)."""
    mark = code_mark("https://register.example/tablet/t/1-ABCDE/")
    runs = {(int(x), int(y)): int(n) for x, y, n in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", mark.path)}
    far = mark.side - 4
    assert min(y for _, y in runs) == min(x for x, _ in runs) == 4
    assert max(x + n for (x, _), n in runs.items()) <= far
    assert runs[4, 4] == runs[far - 7, 4] == runs[4, far - 1] == 7


def test_a_sheet_shows_the_serial_large_and_where_it_sits_beside_the_label(signed_in: Any) -> None:
    bay = make_bay()
    text = text_of(signed_in, bay.manager, f"/labels/sheet/?unit={bay.turbocharger.pk}")
    assert f">{bay.turbocharger.serial}</b>" in text
    assert f"for {bay.truck.unit_number}" in text
    assert text.count('class="code-mark"') == 1


def test_a_whole_depot_is_printed_without_those_scrapped_and_never_another(signed_in: Any) -> None:
    bay, other = make_bay(), make_bay()
    TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model, scrapped_on=date(2025, 1, 1))
    TurbochargerFactory.create_batch(A_SHEET, depot=bay.depot, model=bay.turbocharger.model)
    sheets = label_sheets(bay.manager, depot=bay.depot.pk, units=[])
    assert [len(sheet) for sheet in sheets] == [A_SHEET, 1]
    assert label_sheets(bay.manager, depot=None, units=[other.turbocharger.pk]) == []
    assert label_sheets(bay.technician, depot=bay.depot.pk, units=[]) == []
    assert signed_in(bay.technician).get("/labels/").status_code == 403


def test_a_sheet_costs_the_same_number_of_queries_however_long_it_is() -> None:
    bay = make_bay()

    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            label_sheets(bay.manager, depot=bay.depot.pk, units=[])
        return len(queries)

    first = cost()
    TurbochargerFactory.create_batch(30, depot=bay.depot, model=bay.turbocharger.model)
    assert cost() == first <= 2


def test_units_are_chosen_from_the_depot_by_part_of_a_number(signed_in: Any) -> None:
    bay = make_bay()
    spare = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model, serial="SPARE-7")
    text = text_of(signed_in, bay.manager, "/labels/?q=spare")
    assert f'value="{spare.pk}" checked' in text
    assert bay.turbocharger.serial not in text
    text = text_of(signed_in, bay.manager, f"/labels/?q={bay.truck.unit_number}")
    assert bay.turbocharger.serial in text
    assert "No turbocharger of" in text_of(signed_in, bay.manager, "/labels/?q=nothing-of-this-name")
