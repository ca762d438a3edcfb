"""The sentences that open the page of restored units."""

from checks.display import length_text
from reports.selectors.restored import Restored, RestoredPage
from reports.words.fuel import amount_text, share_text
from reports.words.grammar import capital, count_of


def restored_sentence(page: RestoredPage) -> str:
    """Such as ``Putting 15 units right gave back 4.0 % (3.1 to 4.9 %) of their trucks' fuel ...``"""
    told = page.told
    if page.fit is None:
        return "What restored units gave back cannot be told yet: no trips have been fitted."
    if not told:
        known = count_of(len(page.untold), "unit")
        return (
            f"{capital(known)} restored so far, and of none can it be told yet what it gave back."
            if (page.untold)
            else "No unit that stood outside its window has been restored yet."
        )
    if page.mean is None or page.pooled is None:
        row = told[0]
        return f"One restored unit can be told: truck {row.unit_number} {given_back(row)}."
    mean = page.mean
    back = share_text(-mean.value, -mean.high, -mean.low)
    saved = f" Since then that is {amount_text(page.saved_litres, 'L')}." if page.saved_litres and mean.high < 0 else ""
    if mean.high < 0:
        return f"Putting {count_of(len(told), 'truck')} right gave back {back} of the fuel of each on average.{saved}"
    if mean.low > 0:
        more = share_text(mean.value, mean.low, mean.high)
        return f"{capital(count_of(len(told), 'truck'))} restored burnt {more} more afterwards: look for another cause."
    return (
        f"Whether putting {count_of(len(told), 'truck')} right gave back any fuel cannot be told yet: "
        f"the mean is {share_text(mean.value, mean.low, mean.high)}, which takes in no change."
    )


def given_back(row: Restored) -> str:
    """Such as ``gave back 4.1 % (0.8 to 7.4 %)``, or that it cannot be told from no change."""
    if row.change is None:
        return "cannot be told"
    low, high = row.change.low, row.change.high
    if high < 0:
        return f"gave back {share_text(-row.change.value, -high, -low)}"
    if low > 0:
        return f"burnt {share_text(row.change.value, low, high)} more"
    return f"changed by {share_text(row.change.value, low, high)}, which takes in no change"


def stood(row: Restored, unit: str) -> str:
    """Such as ``0.21 mm low``."""
    return f"{length_text(row.beyond_mm, unit)} {row.side.removeprefix('outside_')}"
