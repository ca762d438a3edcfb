"""Instruments: the best set preselected, fitness told before it is used, and what a meter then shows."""

from datetime import date

import pytest

from tests.bay import Bay, calibrated
from tests.factories import GaugeFactory, InstrumentFactory, MultimeterFactory, TransducerFactory
from tests.walk import Walk

pytestmark = pytest.mark.django_db


@pytest.fixture
def choosing(walk: Walk) -> Walk:
    walk.begin()
    walk.reason()
    return walk


def chosen(walk: Walk) -> dict[str, str]:
    return {role["name"]: role["chosen"] for role in walk.look("instruments").context["roles"]}


def test_the_depots_best_set_is_preselected(choosing: Walk, bay: Bay) -> None:
    worse = calibrated(GaugeFactory(depot=bay.depot, division=10.0, permissible_error=10.0), top=420.0, uncertainty=8.0)
    assert chosen(choosing)["stimulus"] == str(bay.gauge.pk) != str(worse.pk)
    assert chosen(choosing)["dial"] == str(bay.dial.pk)


def test_an_instrument_out_of_date_is_not_preselected(choosing: Walk, bay: Bay) -> None:
    bay.gauge.certificates.update(due_on=date(2024, 6, 1))
    other = calibrated(GaugeFactory(depot=bay.depot), top=420.0, uncertainty=3.0)
    assert chosen(choosing)["stimulus"] == str(other.pk)


def test_fitness_is_told_before_the_set_is_used(choosing: Walk) -> None:
    fitness = choosing.look("instruments").context["fitness"]
    assert fitness.fit
    assert fitness.limits.endswith(" mm")
    assert float(fitness.ratio) > 4


def test_looking_at_another_set_keeps_nothing(choosing: Walk, bay: Bay) -> None:
    worse = calibrated(
        GaugeFactory(depot=bay.depot, division=60.0, permissible_error=60.0), top=420.0, uncertainty=40.0
    )
    page = choosing.instruments(stimulus=worse.pk, action="tell")
    assert page.status_code == 200
    assert "Cannot prove this window" in page.content.decode()
    assert "instruments" not in choosing.draft.answers


def test_an_instrument_out_of_date_is_not_used_unknowingly(choosing: Walk, bay: Bay) -> None:
    bay.gauge.certificates.update(due_on=date(2024, 6, 1))
    refused = choosing.instruments()
    assert refused.status_code == 400
    assert "was due for calibration on 2024-06-01" in refused.content.decode()
    assert choosing.instruments(knowing="yes").url.endswith("/cautions/")


def test_a_withdrawn_instrument_is_not_offered(choosing: Walk, bay: Bay) -> None:
    type(bay.gauge).objects.filter(pk=bay.gauge.pk).update(withdrawn_on=date(2024, 1, 1))
    assert choosing.instruments().status_code == 400


def test_another_depots_instrument_is_not_offered(choosing: Walk) -> None:
    stranger = calibrated(InstrumentFactory(), top=12.7, uncertainty=0.005)
    refused = choosing.instruments(dial=stranger.pk)
    assert [one.field for one in refused.context["errors"]] == ["dial"]


def test_a_transducer_needs_its_meter(choosing: Walk, bay: Bay) -> None:
    transducer = calibrated(TransducerFactory(depot=bay.depot), top=500.0, uncertainty=0.3)
    refused = choosing.instruments(stimulus=transducer.pk)
    assert [one.field for one in refused.context["errors"]] == ["meter"]


def test_a_gauge_is_no_dial(choosing: Walk, bay: Bay) -> None:
    assert [one.field for one in choosing.instruments(dial=bay.gauge.pk).context["errors"]] == ["dial"]


def test_an_angle_of_sixty_degrees_is_refused(choosing: Walk) -> None:
    refused = choosing.instruments(angle_deg="60")
    assert [one.field for one in refused.context["errors"]] == ["angle_deg"]
    assert 'value="60"' in refused.content.decode()


def test_a_check_with_transducer_and_meter(choosing: Walk, bay: Bay) -> None:
    """0.1 mV per kPa: 31 psi is 213.74 kPa and so 21.374 mV."""
    transducer = calibrated(TransducerFactory(depot=bay.depot), top=500.0, uncertainty=0.3)
    meter = calibrated(MultimeterFactory(depot=bay.depot), top=600.0, uncertainty=0.01)
    choosing.instruments(stimulus=transducer.pk, meter=meter.pk)
    choosing.send("cautions", read="yes")
    volts = {"stimulus_unit": "mV"}
    choosing.pair("zero", "0.02", "0", **volts)
    choosing.send(
        "exercise", **{f"stimulus{i}": "24" for i in range(3)}, **{f"stimulus{i}_unit": "mV" for i in range(3)}
    )
    choosing.pair("zero-return", "0.02", "0", **volts)
    page = choosing.look("rise")
    assert f"(21.37 mV on {meter.label})" in page.content.decode()
    choosing.pair("rise", "20.7", "52", action="add", count=0, **volts)
    assert choosing.look("rise").context["watch"].level == "slow"
    choosing.pair("rise", "21.39", "59.5", action="setting", count=1, **volts)
    choosing.send("rise", action="next")
    choosing.send("fall", action="next")
    assert choosing.look("verdict").context["verdict"].state == "inside"


def test_readings_keep_their_meaning_when_instruments_change(walk: Walk, bay: Bay) -> None:
    walk.to_the_rise()
    transducer = calibrated(TransducerFactory(depot=bay.depot), top=500.0, uncertainty=0.3)
    meter = calibrated(MultimeterFactory(depot=bay.depot), top=600.0, uncertainty=0.01)
    refused = walk.instruments(stimulus=transducer.pk, meter=meter.pk)
    assert "Readings were entered in psi" in refused.content.decode()
