"""What was planted in a demonstration, held against what the register says of instruments, depots and fuel."""

from math import expm1, hypot, log1p

import numpy as np

from checks.display import day_text, length_text, measured_text
from checks.models import CertificatePoint
from checks.selectors.fuel import SIDES, effect_of
from checks.selectors.recall import RecallRow, recall_rows, recalls_visible, strokes_of_recall
from checks.selectors.study_depots import rounds
from fleet.models import Truck
from fleet.selectors.scope import visible_to
from reports.selectors.complaint_study import study_page
from reports.selectors.planted import Answer, Compared, Planted, interval, same_set, told
from reports.selectors.thirst import thirsty_trucks
from reports.words.fuel import STEPS, WHERE, effect_text, step_mm


def gauge(put: Planted) -> Answer:
    """The gauge that took a blow: how much higher it read afterwards, and the strokes that fall; ten queries."""
    fact = put.facts["gauge_out_of_calibration"]
    rows = recall_rows(recalls_visible(put.user).filter(instrument__label=fact["label"]))
    # Without a recall the queries are made all the same, so that the page costs the same.
    points = _points(rows[0] if rows else None)
    strokes = strokes_of_recall(rows[0].recall, put.user) if rows else []
    if not rows or len(points) < 2:
        return []
    (good, good_u), (bad, bad_u) = points
    full = rows[0].recall.worst_indication
    share, reach, planted = (bad - good) / full, hypot(good_u, bad_u) / full, fact["reads_high_by_share"]
    fell = {(one["serial"], put.on(one["day"]), one["moment"]) for one in fact["verdicts_that_fall"]}
    seen = {
        (one.check.turbocharger.serial, one.row.made_on, one.row.original.stroke.moment) for one in strokes if one.flips
    }
    return [
        interval(
            f"{fact['label']} reads higher than its last good certificate says, by",
            f"{100 * planted:.1f} %",
            f"{100 * share:.1f} ± {100 * reach:.1f} %",
            holds=abs(share - planted) <= reach,
        ),
        Compared(
            what="Strokes that fall with it",
            planted=f"{len(fell)}, all after the blow on {day_text(put.on(fact['from_day']))}",
            found=f"{len(seen)} since its last good certificate, as nobody knows the day of the blow",
            holds=fell <= seen,
            word=f"{len(fell & seen)} of the {len(fell)} are among them",
        ),
    ]


def _points(row: RecallRow | None) -> list[tuple[float, float]]:
    """Error and expanded uncertainty at the worst point: on the certificate relied on, and on the bad one; a query."""
    recall = row.recall if row else None
    held = CertificatePoint.objects.filter(
        certificate__instrument=recall.instrument_id if recall else 0,
        indication=recall.worst_indication if recall else 0.0,
        certificate__superseded_reason="",
    )
    kept = {
        (point.certificate.issued_on, point.moment): (point.error, point.expanded_uncertainty)
        for point in held.select_related("certificate")
    }
    if recall is None:
        return []
    wanted = [(recall.since, "as_left"), (recall.found.issued_on, "as_found")]
    return [kept[key] for key in wanted if key in kept]


def depot(put: Planted) -> Answer:
    """The depot that reads differently: by how much, on the same units; four queries."""
    fact, true = put.facts["depot_that_measures_differently"], put.facts["round_of_bench_units"]["true_travel_mm"]
    planted, unit = fact["reads_high_by_share"] * float(np.mean(list(true.values()))), put.user.length_unit
    return [
        interval(
            f"{mean.name} reads more of the same units, by",
            length_text(planted, unit),
            measured_text(mean.difference_mm, (mean.high_mm - mean.low_mm) / 2, unit),
            holds=mean.low_mm <= planted <= mean.high_mm,
        )
        for found in rounds(put.user)
        if found.comparison
        for mean in found.comparison.odd
        if mean.name == fact["depot"]
    ]


def cost(put: Planted) -> Answer:
    """What a step of travel outside the window costs in fuel."""
    if put.fuel_fit is None:
        return []
    unit, out = put.user.length_unit, []
    for side in SIDES:
        effect = effect_of(put.fuel_fit.estimates, side)
        slope = log1p(put.truth["fuel"]["percent_per_tenth_mm"][side] / 100) / 0.1
        out.append(
            interval(
                f"Each {STEPS[unit][1]} {WHERE[side]}",
                f"{100 * expm1(slope * step_mm(unit)):.2f} %",
                effect_text(effect, unit),
                holds=effect.low <= slope <= effect.high,
            )
        )
    return out


def thirsty(put: Planted) -> Answer:
    """Trucks that burn more than their own level now, by what their wastegates do; four queries."""
    if put.fuel_fit is None:
        return []
    fuel = put.truth["fuel"]
    inside = {one["truck"] for one in fuel["thirsty_but_inside"] if one["to_day"] == 0}
    outside = {one["truck"] for one in fuel["stood_outside"] if one["left"]}
    rows = visible_to(put.user, Truck.objects.filter(unit_number__in=inside | outside))
    seen = set(rows.values_list("unit_number", flat=True))
    found = thirsty_trucks(put.user, put.fuel_fit)
    sets = [
        same_set("Thirsty because of the wastegate", outside & seen, [one.unit_number for one in found.outside]),
        same_set("Thirsty for another reason", inside & seen, [one.unit_number for one in found.inside]),
    ]
    return [
        *told(sets),
        *(
            Compared(what=f"Truck {one['truck']}", planted=one["cause"], found="not told by records", holds=True,
                     word="for the workshop to find")
            for one in fuel["thirsty_but_inside"] if one["truck"] in inside & seen
        ),
    ]  # fmt: skip


def silent(put: Planted) -> Answer:
    """Units outside and thirsty about which nobody complained; seven queries."""
    planted = put.units.keys() & set(put.truth["fuel"]["silent_outside"])
    page = study_page(user=put.user)
    return told([same_set("Outside, thirsty, and not a word", planted, [one.serial for one in page.silent])])
