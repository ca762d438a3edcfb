"""Derive again what is derived from the records, and tell whether the numbers changed."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction

from checks.models import Assessment, Check, ComplaintStudy, DriftFit, Forecast, FuelMonth, Standing
from checks.services.assessment import judge_checks
from checks.services.complaint_study import study_complaints
from checks.services.drift import refit
from checks.services.fuel import fit_fleet
from checks.services.life import fit_all
from checks.services.moments import form_stale, mark_all, next_cells
from checks.services.plan import all_turbochargers, replan
from checks.services.recall import judge_all, open_missing
from checks.services.restoration import find_restorations

CHUNK = 500
BURNT = [field.attname for field in FuelMonth._meta.fields if field.name not in {"id", "fit"}]
DERIVED = [field.name for field in Standing._meta.fields if field.name not in {"id", "derived_at"}]
FORESEEN = [field.name for field in Forecast._meta.fields if field.name not in {"id", "fit", "derived_at"}]
NUMBERS = ("state", "travel_mm", "expanded_uncertainty_mm", "p_inside")


class Command(BaseCommand):
    """Forecasts, standings, plans, fuel; verdicts too when asked, each by the revision that judged it last."""

    help = "Derive fits, forecasts, standings, plans and fuel anew from the records; with --verdicts, the verdicts too."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--verdicts", action="store_true", help="judge every check again before planning")

    def handle(self, *args: Any, verdicts: bool, **options: Any) -> None:
        if verdicts:
            self.stdout.write(f"Verdicts: {self._judge()}")
        opened, judged = open_missing(), judge_all()
        if opened or judged:
            self.stdout.write(f"Recalls: {opened} opened, {judged} checks judged with the error found.")
        # Before the refit, since that plans the units it forecasts.
        before = _standings()
        self.stdout.write(f"Forecasts: {self._refit()}")
        count = replan(all_turbochargers())
        after = _standings()
        changed = sum(row != before.get(pk) for pk, row in after.items())
        self.stdout.write(f"Standings: {count} derived, {changed} changed.")
        if cells := mark_all():
            self.stdout.write(f"Fuel: {self._fuel(cells)}")
            self.stdout.write(f"Restorations: {find_restorations()} told.")
        self.stdout.write(f"Complaints: {self._complaints()}")
        self.stdout.write(f"Lives: {fit_all(anew=True)} told.")

    def _complaints(self) -> str:
        before = _studied()
        study = study_complaints(anew=True)
        same = "the same" if before == _studied() else "changed"
        return (
            f"{len(study.complaints)} set against travel, {same}." if study else "no truck-months to set them against."
        )

    def _fuel(self, cells: int) -> str:
        """Moments from trips, the fit from moments and readings, and every row that follows."""
        while marked := next_cells():
            with transaction.atomic():
                form_stale(marked)
        before = _burnt()
        fit = fit_fleet(anew=True)
        changed = len(before ^ _burnt())
        return f"{cells} truck-months formed, {fit.cells if fit else 0} in the fit, {changed} changed."

    def _refit(self) -> str:
        fits = DriftFit.objects.filter(is_current=True)
        before, known = _forecasts(), list(fits.values_list("pk", flat=True))
        count = refit()
        after = _forecasts()
        changed = sum(row != before.get(pk) for pk, row in after.items()) + len(before.keys() - after.keys())
        new = fits.exclude(pk__in=known).count()
        return f"{count} derived from {fits.count()} fits, {new} fits new, {changed} changed."

    def _judge(self) -> str:
        ids, changed = list(Check.objects.order_by("pk").values_list("pk", flat=True)), 0
        for start in range(0, len(ids), CHUNK):
            chunk = ids[start : start + CHUNK]
            before = _verdicts(chunk)
            judge_checks(check_ids=chunk, basis="rebuilt")
            changed += sum(row != before.get(stroke) for stroke, row in _verdicts(chunk).items())
        return f"{len(ids)} checks judged, {changed} strokes changed."


def _burnt() -> set[tuple[Any, ...]]:
    return set(FuelMonth.objects.order_by().values_list(*BURNT))


def _studied() -> list[tuple[Any, ...]]:
    rows = ComplaintStudy.objects.filter(is_current=True)
    return list(rows.values_list("lags", "complaints", "silent", "inputs"))


def _forecasts() -> dict[int, dict[str, Any]]:
    return {row["turbocharger"]: row for row in Forecast.objects.order_by().values(*FORESEEN)}


def _standings() -> dict[int, dict[str, Any]]:
    return {row["turbocharger"]: row for row in Standing.objects.order_by().values(*DERIVED)}


def _verdicts(check_ids: list[int]) -> dict[int, tuple[Any, ...]]:
    rows = Assessment.objects.filter(stroke__check_made__in=check_ids, is_current=True)
    return {stroke: tuple(numbers) for stroke, *numbers in rows.values_list("stroke", *NUMBERS)}
