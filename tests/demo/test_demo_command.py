"""The command on an empty database: it loads whole or not at all, and only on one's own machine."""

from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from checks.models import Assessment, Check, Standing
from fleet.management.demo import load
from fleet.management.demo.bench import CHECKS_EACH, load_bench_fleet
from fleet.management.demo.events import History
from fleet.models import Depot, Turbocharger, User

pytestmark = pytest.mark.django_db


def demo(*words: str) -> str:
    out = StringIO()
    call_command("demo", *words, stdout=out)
    return out.getvalue()


def test_known_passwords_stay_on_ones_own_machine(settings: Any):
    settings.LOCAL = False
    with pytest.raises(CommandError, match="passwords that everybody knows"):
        demo()
    assert not User.objects.exists()


@pytest.mark.parametrize("words", [(), ("--size", "5")])
def test_a_fleet_of_ones_own_is_not_mixed_with_another(words: tuple[str, ...]):
    Depot.objects.create(code="OWN", name="Our own")
    with pytest.raises(CommandError, match="holds a fleet already"):
        demo(*words)
    assert Depot.objects.count() == 1


def test_a_load_that_fails_leaves_nothing(short: History, monkeypatch: pytest.MonkeyPatch):
    def fail(*ignored: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(load.register, "load_fitments", fail)
    with pytest.raises(RuntimeError):
        load.load_scenario(today=date(2026, 3, 4), history=short)
    assert not Depot.objects.exists()
    assert not User.objects.exists()


def test_a_bench_fleet_is_whole():
    assert load_bench_fleet(12) == 12 * CHECKS_EACH
    assert Turbocharger.objects.count() == Standing.objects.count() == 12
    assert Assessment.objects.filter(is_current=True).count() == Check.objects.count() == 12 * CHECKS_EACH
    last = Check.objects.order_by("-made_at").first()
    assert last is not None
    verdict = Assessment.objects.get(stroke__check_made=last)
    assert verdict.result["budget"]
    assert last.strokes.get().readings.filter(phase="setting").count() == 1
    assert Standing.objects.get(turbocharger=last.turbocharger).last_check == last


@pytest.mark.parametrize("size", ["0", "-3"])
def test_a_bench_fleet_of_nothing_is_refused(size: str):
    with pytest.raises(CommandError, match="at least 1"):
        demo("--size", size)
