"""Whether a set can prove a window is told before a check, with the reason where it cannot."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.selectors.fitness import fitness_of
from checks.services.specification import add_specification
from tests.checks.registers.conftest import COMMON
from tests.factories import (
    CertificateFactory,
    CertificatePointFactory,
    GaugeFactory,
    InstrumentFactory,
    MultimeterFactory,
    TransducerFactory,
)

pytestmark = pytest.mark.django_db


def certified(tool, *places):
    """The tool with a certificate of today's date, without errors."""
    certificate = CertificateFactory(instrument=tool, due_on=timezone.localdate() + timedelta(days=90))
    for place in places:
        CertificatePointFactory(certificate=certificate, indication=place)
    return tool


@pytest.fixture
def specification(manager, pneumatic):
    return add_specification(author=manager, turbocharger_model=pneumatic, entry=COMMON)


@pytest.fixture
def dial(depot):
    return certified(InstrumentFactory(depot=depot, label="DI-1"), 0, 5, 10)


@pytest.fixture
def gauge(depot):
    return certified(GaugeFactory(depot=depot, label="PG-1"), 0, 150, 300)


def ask(client, **chosen):
    words = {name: row.pk for name, row in chosen.items()}
    return client.get(reverse("checks:fitness"), words).content.decode()


def fitness(specification, dial, stimulus):
    today = timezone.localdate()
    return fitness_of(
        specification=specification, dial=dial, stimulus=stimulus, meter=None, angle_max_deg=5, on=today
    ).acceptance


def test_a_good_set_is_told_with_the_readings_that_prove_the_window(signed_in, viewer, specification, dial, gauge):
    page = ask(signed_in(viewer), specification=specification, dial=dial, stimulus=gauge)
    assert "This set is fit for the specification." in page
    assert "Readings that prove" in page
    found = fitness(specification, dial, gauge)
    assert specification.lower_mm < found.low_mm < specification.nominal_mm < found.high_mm < specification.upper_mm


def test_the_ratio_is_the_window_over_twice_the_uncertainty(specification, dial, gauge):
    """TUR = (upper - lower) / (2 U); definition from memory: span of the tolerance over span of U."""
    found = fitness(specification, dial, gauge)
    window = specification.upper_mm - specification.lower_mm
    assert found.test_uncertainty_ratio == pytest.approx(window / (2 * found.expanded_uncertainty_mm))


def test_a_certificate_that_ran_out_is_named(signed_in, viewer, specification, dial, gauge):
    gauge.certificates.update(due_on=timezone.localdate() - timedelta(days=1))
    page = ask(signed_in(viewer), specification=specification, dial=dial, stimulus=gauge)
    assert "not fit" in page
    assert "PG-1" in page


def test_a_coarse_dial_cannot_prove_the_window(signed_in, viewer, depot, specification, gauge):
    coarse = InstrumentFactory(depot=depot, label="DI-9", division=2.0, read_to=1.0, permissible_error=1.0)
    CertificateFactory(instrument=coarse)
    page = ask(signed_in(viewer), specification=specification, dial=coarse, stimulus=gauge)
    assert "Cannot prove this window" in page


def test_a_transducer_needs_a_multimeter_of_its_own_unit(signed_in, viewer, depot, specification, dial):
    transducer = certified(TransducerFactory(depot=depot, label="PT-1"), 0, 250, 500)
    client = signed_in(viewer)
    assert "Choose the multimeter" in ask(client, specification=specification, dial=dial, stimulus=transducer)
    wrong = MultimeterFactory(depot=depot, electrical_unit="mA")
    page = ask(client, specification=specification, dial=dial, stimulus=transducer, meter=wrong)
    assert "gives mV, but" in page
    right = certified(MultimeterFactory(depot=depot))
    page = ask(client, specification=specification, dial=dial, stimulus=transducer, meter=right)
    assert "Test uncertainty ratio" in page


def test_an_electric_actuator_needs_a_command_tool(signed_in, viewer, manager, electric, dial, gauge):
    percent = {name: ["60", "%"] for name in ("setting",)} | {
        "stimulus_max": ["100", "%"],
        "zero_tolerance_stimulus": ["1", "%"],
    }
    row = add_specification(author=manager, turbocharger_model=electric, entry={**COMMON, **percent})
    page = ask(signed_in(viewer), specification=row, dial=dial, stimulus=gauge)
    assert "needs a command tool" in page


def test_an_incomplete_choice_says_what_is_missing(signed_in, viewer, specification):
    assert "Choose a specification, a dial" in ask(signed_in(viewer), specification=specification)


@pytest.mark.parametrize("text", ["x", "0", "99999999999999999999", "'; --"])
def test_nonsense_in_the_address_chooses_nothing(signed_in, viewer, specification, text):
    answer = signed_in(viewer).get(reverse("checks:fitness"), {"specification": text, "dial": text})
    assert answer.status_code == 200


def test_instruments_of_other_depots_are_not_offered(signed_in, stranger, specification, dial, gauge):
    page = ask(signed_in(stranger), specification=specification, dial=dial, stimulus=gauge)
    assert "DI-1" not in page
    assert "This set is fit" not in page


def test_only_the_answer_is_drawn_again_for_htmx(signed_in, viewer, specification):
    address = reverse("checks:fitness")
    part = signed_in(viewer).get(address, {"specification": specification.pk}, headers={"HX-Request": "true"})
    assert "<html" not in part.content.decode()
