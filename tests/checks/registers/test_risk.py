"""What the policy's level costs, by model and from one's own depots' checks."""

from datetime import date, timedelta
from statistics import NormalDist, fmean, pstdev

import numpy as np
import pytest
from django.urls import reverse

from checks.measurement.conformity import acceptance_limits
from checks.models import Assessment
from checks.selectors.risk import FEWEST, model_risks
from checks.services.check import record_check
from tests.bay import make_bay

pytestmark = pytest.mark.django_db
ON = date(2026, 1, 1)


@pytest.fixture
def bay():
    """A dozen units' worth of readings, some near the upper limit."""
    bay = make_bay()
    for i, travel in enumerate(range(58, 82, 2)):
        day = date(2025, 1, 10) + timedelta(days=20 * i)
        at = f"{day}T09:30:00+00:00"
        payload = bay.submission(travel=str(travel), made_at=at, cautions_read_at=at, odometer=None, engine_hours=None)
        record_check(user=bay.technician, submission=payload)
    return bay


def test_the_risks_agree_with_a_simulated_population(bay):
    """Global risks of JCGM 106:2012, 9.5, found again by drawing units and readings (numpy, 400,000 draws)."""
    (told,) = model_risks(bay.viewer, on=ON)
    rows = Assessment.objects.exclude(state="void").values_list("travel_mm", "standard_uncertainty_mm")
    travels, doubts = zip(*rows, strict=True)
    assert told.checks == len(travels) >= FEWEST
    u, spread = fmean(doubts), pstdev(travels)
    low, high = acceptance_limits(u, bay.specification.lower_mm, bay.specification.upper_mm, 0.95)
    rng = np.random.default_rng(20260101)
    true = rng.normal(fmean(travels), (spread**2 - u**2) ** 0.5, 400_000)
    read = true + rng.normal(0, u, true.size)
    inside = (true >= bay.specification.lower_mm) & (true <= bay.specification.upper_mm)
    passed = (read >= low) & (read <= high)
    assert told.risks.consumer == pytest.approx((passed & ~inside).mean(), abs=0.001)
    assert told.risks.producer == pytest.approx((inside & ~passed).mean(), abs=0.003)
    share = NormalDist(fmean(travels), (spread**2 - u**2) ** 0.5)
    expected = share.cdf(bay.specification.upper_mm) - share.cdf(bay.specification.lower_mm)
    assert told.risks.inside == pytest.approx(expected, abs=1e-9)


def test_the_page_tells_them_to_those_of_the_depot_only(bay, signed_in, stranger):
    page = signed_in(bay.viewer).get(reverse("checks:policy")).content.decode()
    assert "outside, yet passed" in page
    assert "not told: " not in page
    assert model_risks(stranger, on=ON)[0].checks == 0
    assert "fewer than 10 checks" in signed_in(stranger).get(reverse("checks:policy")).content.decode()
