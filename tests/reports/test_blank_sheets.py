"""A blank sheet says all that is known before a check, in the order of the work, one sheet a unit."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from checks.tablet.cautions import all_cautions
from fleet.models import TurbochargerModel
from reports.selectors.blank import MOST, blank_sheets
from tests.bay import calibrated, make_bay
from tests.factories import (
    CertificateFactory,
    CommandToolFactory,
    GaugeFactory,
    MultimeterFactory,
    TransducerFactory,
    TurbochargerFactory,
    TurbochargerModelFactory,
)

pytestmark = pytest.mark.django_db


def sheet_of(bay: Any) -> Any:
    (sheet,) = blank_sheets(user=bay.technician, units=[bay.turbocharger.pk])
    return sheet


def page(signed_in: Any, user: Any, *units: int) -> str:
    answer = signed_in(user).get("/blank-sheets/", {"unit": list(units)})
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_the_sheet_says_setting_window_and_maximum_as_the_common_check_values_have_them() -> None:
    """31 psi, 0.038, 0.059 and 0.080 in, at most 43 psi: common practice, no source."""
    bay = make_bay()
    bay.technician.pressure_unit, bay.technician.length_unit = "psi", "in"
    sheet = sheet_of(bay)
    assert (sheet.facts.setting, sheet.facts.stimulus_max) == ("31.00 psi", "43.00 psi")
    assert (sheet.facts.window, sheet.facts.nominal) == ("0.0380 to 0.0800 in", "0.0590 in")
    assert sheet.band == "30.69 to 31.31 psi"


def test_every_caution_stands_on_it_with_the_units_own_maximum(signed_in: Any) -> None:
    bay = make_bay()
    text = page(signed_in, bay.technician, bay.turbocharger.pk)
    for caution in all_cautions("pneumatic", "296.5 kPa"):
        assert caution.replace("'", "&#x27;") in text
    assert "Then the whole stroke again, as left." in text


def test_lines_follow_the_order_of_the_work(signed_in: Any) -> None:
    bay = make_bay()
    text = page(signed_in, bay.technician, bay.turbocharger.pk)
    order = [
        "Cautions read",
        "Instruments.",
        "Zero, vented",
        "Exercise 3",
        "Back at zero",
        "Rise 8",
        "At the setting",
        "Fall 2",
        "Hold, supply closed",
        "Rod turned",
        "Technician, date",
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_instruments_are_those_that_prove_the_window_today_with_what_they_show() -> None:
    bay = make_bay()
    old = GaugeFactory(depot=bay.depot, label="OLD")
    CertificateFactory(instrument=old, issued_on="2020-01-01", due_on="2021-01-01")
    (line,) = sheet_of(bay).sets
    assert line.labels == f"{bay.dial.label} + {bay.gauge.label}"
    assert (line.setting, line.maximum) == ("213.7 kPa", "296.5 kPa")
    assert line.inside.endswith(" mm")
    assert line.outside.startswith("below 0.")


def test_a_transducer_is_told_in_what_its_meter_shows() -> None:
    """0.1 mV per kPa: 213.737 kPa shows 21.37 mV, 296.475 kPa shows 29.65 mV."""
    bay = make_bay()
    transducer = calibrated(TransducerFactory(depot=bay.depot, label="P-1"), top=420.0, uncertainty=0.3)
    meter = calibrated(MultimeterFactory(depot=bay.depot, label="M-1"), top=100.0, uncertainty=0.005)
    line = next(line for line in sheet_of(bay).sets if transducer.label in line.labels)
    assert line.labels == f"{bay.dial.label} + {transducer.label} + {meter.label}"
    assert (line.setting, line.maximum) == ("21.37 mV", "29.65 mV")


def test_an_electric_actuator_has_commands_and_no_pressure(signed_in: Any) -> None:
    model = TurbochargerModelFactory(stimulus=TurbochargerModel.Stimulus.ELECTRIC)
    bay = make_bay(model=model, setting=60.0, stimulus_max=95.0, capture_tolerance=0.6, zero_tolerance_stimulus=0.5)
    calibrated(CommandToolFactory(depot=bay.depot), top=100.0, uncertainty=0.2)
    text = page(signed_in, bay.technician, bay.turbocharger.pk)
    assert "command, %" in text
    assert "95.0 %" in text
    assert "kPa" not in text
    assert "Hold, supply closed" not in text


def test_one_sheet_a_unit_in_the_order_asked_for_and_none_of_another_depot(signed_in: Any) -> None:
    bay, other = make_bay(), make_bay()
    spare = TurbochargerFactory(depot=bay.depot, model=bay.turbocharger.model)
    units = [spare.pk, bay.turbocharger.pk, other.turbocharger.pk, spare.pk]
    sheets = blank_sheets(user=bay.technician, units=units)
    assert [sheet.unit for sheet in sheets] == [spare, bay.turbocharger]
    assert [sheet.name for sheet in sheets] == [spare.serial, bay.truck.unit_number]
    assert page(signed_in, bay.technician, *units).count("<article") == 2


def test_the_last_reading_and_a_flag_stand_at_the_top(checked: Any, signed_in: Any) -> None:
    bay = make_bay()
    checked(bay, travel="95", left="59")
    bay.turbocharger.safety_flag = "The actuator saw 303.4 kPa."
    bay.turbocharger.save()
    text = page(signed_in, bay.technician, bay.turbocharger.pk)
    assert "inside" in sheet_of(bay).last
    assert "Inspect this unit before any check." in text


def test_without_a_specification_nothing_can_be_judged_and_the_sheet_says_so(signed_in: Any) -> None:
    bay = make_bay(effective_from="2099-01-01")
    text = page(signed_in, bay.technician, bay.turbocharger.pk)
    assert "is in force, so no check could be judged" in text
    assert "Rise 1" not in text


def test_more_units_cost_no_more_queries_and_the_rest_is_told(signed_in: Any) -> None:
    bay = make_bay()
    spares = TurbochargerFactory.create_batch(MOST + 3, depot=bay.depot, model=bay.turbocharger.model)

    def cost(units: list[int]) -> int:
        with CaptureQueriesContext(connection) as queries:
            blank_sheets(user=bay.technician, units=units)
        return len(queries)

    few, many = [row.pk for row in spares[:2]], [row.pk for row in spares]
    assert cost(few) == cost(many)
    assert "choose fewer to see the other 3" in page(signed_in, bay.technician, *many)


def test_the_lists_lead_to_the_sheets_of_their_units(checked: Any, signed_in: Any) -> None:
    bay = make_bay()
    checked(bay, days_ago=300)
    address = f"/blank-sheets/?unit={bay.turbocharger.pk}"
    for where in ("/due/?days=365", f"/units/{bay.turbocharger.pk}/"):
        assert address in signed_in(bay.technician).get(where).content.decode()
    assert address not in signed_in(bay.viewer).get("/due/?days=365").content.decode()
