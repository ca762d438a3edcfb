"""What comes out of the printer: labels that an independent reader reads, and one page of A4 for each blank sheet."""

import io
import re
from typing import Any

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageFilter
from playwright.sync_api import Page

from checks.selectors.label import label_address
from tests.bay import Bay
from tests.browser.guided import bay_in_inches, electric_bay
from tests.factories import TurbochargerFactory

pytestmark = pytest.mark.django_db(transaction=True)
# CSS pixels a millimetre.
MM = 96 / 25.4


@pytest.fixture
def bay(transactional_db: None) -> Bay:
    return bay_in_inches()


def printed(page: Page, selector: str) -> Image.Image:
    """A part of the page as print draws it."""
    page.emulate_media(media="print")
    return Image.open(io.BytesIO(page.locator(selector).first.screenshot())).convert("L")


def pages_of(page: Page) -> int:
    """How many sheets of paper the page takes."""
    pdf = page.pdf(prefer_css_page_size=True, print_background=True)
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def codes_in(picture: Image.Image) -> set[str]:
    return {found.text for found in zxingcpp.read_barcodes(np.asarray(picture))}


def test_every_label_of_a_printed_sheet_is_read_by_an_independent_reader(
    bay: Bay, page: Page, enter: Any, shoot: Any, console: Any
) -> None:
    """zxing-cpp reads what segno wrote; also blurred, and with grease on a corner of each code."""
    model = bay.turbocharger.model
    units = [bay.turbocharger, *TurbochargerFactory.create_batch(23, depot=bay.depot, model=model)]
    enter(bay.manager, f"/labels/sheet/?depot={bay.depot.pk}")
    sheet = printed(page, ".label-sheet")
    shoot("label-sheet")
    expected = {label_address(unit) for unit in units}
    assert codes_in(sheet) == expected
    twice = sheet.resize((2 * sheet.width, 2 * sheet.height)).filter(ImageFilter.GaussianBlur(1.5))
    assert codes_in(twice) == expected
    assert pages_of(page) == 1


def test_grease_on_a_label_does_not_hide_it(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.manager, f"/labels/sheet/?unit={bay.turbocharger.pk}")
    code = printed(page, ".code-mark").resize((400, 400))
    code.paste(60, (220, 215, 290, 275))
    assert codes_in(code) == {label_address(bay.turbocharger)}


def test_labels_have_their_size_on_paper_and_lie_within_the_marks(bay: Bay, page: Page, enter: Any) -> None:
    enter(bay.manager, f"/labels/sheet/?unit={bay.turbocharger.pk}")
    page.emulate_media(media="print")
    label = page.locator(".label").first.bounding_box()
    words = page.locator(".label .words").first.bounding_box()
    assert label is not None
    assert words is not None
    assert (label["width"] / MM, label["height"] / MM) == pytest.approx((60, 28), abs=0.1)
    assert words["x"] + words["width"] <= label["x"] + label["width"] + 0.5


def test_as_many_sheets_as_labels_need(bay: Bay, page: Page, enter: Any) -> None:
    TurbochargerFactory.create_batch(30, depot=bay.depot, model=bay.turbocharger.model)
    enter(bay.manager, f"/labels/sheet/?depot={bay.depot.pk}")
    assert page.locator(".label-sheet").count() == 2
    assert pages_of(page) == 2


@pytest.mark.parametrize("kind", ["pneumatic", "electric"])
def test_a_blank_sheet_is_one_page_with_the_code_of_its_unit(
    kind: str, transactional_db: None, page: Page, enter: Any, shoot: Any, console: Any
) -> None:
    bay = bay_in_inches() if kind == "pneumatic" else electric_bay()
    spare = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    enter(bay.technician, f"/blank-sheets/?unit={bay.turbocharger.pk}&unit={spare.pk}")
    assert pages_of(page) == 2
    assert codes_in(printed(page, ".blank")) == {label_address(bay.turbocharger)}
    shoot(f"blank-sheet-{kind}")
