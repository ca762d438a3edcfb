"""The first page: a sentence a subject, made from the tables that are frozen with it, so that none can disagree."""

from collections.abc import Iterator

from reports.export.frozen import Table, thousands
from reports.review.month import Month
from reports.words.grammar import capital, count_of, listing, verb

Tables = dict[str, Table]


def summary(tables: Tables, month: Month, scope: str) -> tuple[str, ...]:
    """The sentences in order; a subject without anything to say is left out."""
    parts = (state, found, rechecks, drift, fuel, restored, complaints, life, instruments, studies, quality)
    return tuple(sentence for part in parts for sentence in part(tables, month, scope))


def cells(table: Table, **wanted: str) -> dict[str, str] | None:
    """The first row that holds the wanted texts, by column."""
    return next((row for row in table.named() if all(row[key] == text for key, text in wanted.items())), None)


def state(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """How many stand where, and what changed."""
    held = tables["fleet_state"]
    whole, inside = cells(held, state="all"), cells(held, state="inside")
    if not whole or not int(whole["units"]):
        yield f"{capital(scope)} had no unit on its register at the end of {month.words}."
        return
    low, high = cells(held, state="outside low"), cells(held, state="outside high")
    if inside and low and high:
        out, before = (int(low[key]) + int(high[key]) for key in ("units", "units_before"))
        units = f"{thousands(whole['units'])} unit{'' if whole['units'] == '1' else 's'}"
        sides = f", of which {low['units']} low and {high['units']} high" if out else ""
        yield (
            f"At the end of {month.words}, {thousands(inside['units'])} of {units} stood inside their window and "
            f"{thousands(str(out)) if out else 'none'} outside{sides}; a month before, "
            f"{thousands(str(before)) if before else 'none'} stood outside."
        )
    gone = sum(int(row[2]) for row in tables["state_flows"].rows if row[1].startswith("outside") and row[0] == "inside")
    back = sum(int(row[2]) for row in tables["state_flows"].rows if row[0].startswith("outside") and row[1] == "inside")
    if gone or back:
        yield (
            f"In the month {count_of(gone, 'unit')} that had stood inside "
            f"{verb(gone, 'was', 'were')} found outside, "
            f"and {count_of(back, 'unit')} that had stood outside came back inside."
        )


def found(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """What checks found."""
    row = cells(tables["as_found"], period="month", depot="all", model="all")
    year = cells(tables["as_found"], period="twelve months", depot="all", model="all")
    if row and int(row["checks"]):
        out, inside = int(row["outside_low"]) + int(row["outside_high"]), int(row["inside"])
        share = (
            f"; {out} of {out + inside} verdicts were outside, {row['outside_share']} % "
            f"({row['outside_low_limit']} to {row['outside_high_limit']} %)"
            if row["outside_share"]
            else ""
        )
        made = int(row["checks"])
        yield f"{capital(count_of(made, 'check'))} {verb(made, 'was', 'were')} made in the month{share}."
    if year and year["outside_share"]:
        yield (
            f"Over twelve months the share found outside was {year['outside_share']} % ({year['outside_low_limit']} to "
            f"{year['outside_high_limit']} %) over {thousands(year['checks'])} checks"
            + (
                f"; among scheduled ones {year['scheduled_share']} % ({year['scheduled_low_limit']} to "
                f"{year['scheduled_high_limit']} %)."
                if year["scheduled_share"]
                else "."
            )
        )


def rechecks(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """Due, done, overdue, void."""
    row = cells(tables["rechecks"], depot="all")
    if row and int(row["due"]):
        due = f"{thousands(row['due'])} date{'' if row['due'] == '1' else 's'}"
        yield (
            f"{due} fell due: {thousands(row['in_time'])} answered in time, {thousands(row['late'])} late, "
            f"{thousands(row['overdue'])} overdue at the end of the month."
        )
    if row and row["void_share"]:
        were = "was" if row["void"] == "1" else "were"
        yield (
            f"{thousands(row['void'])} of {thousands(row['strokes'])} strokes {were} void, {row['void_share']} % "
            f"({row['void_low_limit']} to {row['void_high_limit']} %)."
        )


def drift(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """Models whose mean drift stands out of its limits."""
    named = [
        f"{row['model']} by {row['drift']} mm per {row['per']} ({row['drift_low_limit']} to {row['drift_high_limit']})"
        for row in tables["drift_by_model"].named()
        if float(row["drift_low_limit"]) > 0 or float(row["drift_high_limit"]) < 0
    ]
    if named:
        yield f"Travel drifts with use: {listing(named)}.".replace("-", "−")
    leaving, turned = len(tables["leaving_units"].rows), len(tables["repeat_adjusters"].rows)
    if leaving or turned:
        yield (
            f"{capital(count_of(leaving, 'unit'))} {verb(leaving, 'is', 'are')} about to leave the window, and "
            f"{count_of(turned, 'unit')} needed the rod turned again within twelve months."
        )


def fuel(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """What it cost."""
    held = tables["fuel_cost"]
    row = cells(held, period="twelve months")
    if row and row["extra"] and row["extra_low_limit"]:
        worth = listing([one for one in map(_money, held.named()) if one])
        yield (
            f"Travel outside the window cost {thousands(row['extra'])} L of fuel in twelve months "
            f"({thousands(row['extra_low_limit'])} to {thousands(row['extra_high_limit'])} L)"
            f"{f', worth {worth} where a price is known' if worth else ''}."
        )


def _money(row: dict[str, str]) -> str:
    """One currency's part of what twelve months cost; empty where the row holds none."""
    if row["period"] != "twelve months" or not row["money"]:
        return ""
    low, high = thousands(row["money_low_limit"]), thousands(row["money_high_limit"])
    return f"{thousands(row['money'])} {row['currency']} ({low} to {high})"


def restored(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """What was given back."""
    row = cells(tables["restorations_together"])
    if row and row["told"] != "0":
        told, less = int(row["told"]), row["less"]
        mean = f"; on average {signed(row, 'change')} %" if row["change"] else ""
        yield (
            f"Of {count_of(told, 'truck')} brought back into the window whose fuel can be compared, {less} burnt "
            f"less by more than chance explains{mean}."
        )


def signed(row: dict[str, str], key: str) -> str:
    """A change with its limits, such as ``−3.0 (−4.1 to −1.9)``."""
    value, low, high = (row[name].replace("-", "−") for name in (key, f"{key}_low_limit", f"{key}_high_limit"))
    return f"{value} ({low} to {high})"


def complaints(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """Explained and not."""
    held = tables["complaint_counts"]
    if held.rows:
        recent, explained, unexplained = (
            sum(int(row[held.at(key)]) for row in held.rows) for key in ("this_month", "explained", "not_explained")
        )
        studied = (
            f"; of the fuel complaints listed travel explains {explained} and does not explain {unexplained}"
            if explained + unexplained
            else ""
        )
        raised = f"{capital(count_of(recent, 'complaint'))} {verb(recent, 'was', 'were')} raised in the month"
        yield f"{raised}{studied}."
    silent = len(tables["silent_trucks"].rows)
    if silent:
        yield (
            f"{capital(count_of(silent, 'truck'))} {verb(silent, 'burns', 'burn')} more than before and "
            f"{verb(silent, 'stands', 'stand')} outside without a complaint."
        )


def life(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """By when one in ten has left, in the usage that is drawn."""
    rows = tables["life"].named()
    named = [
        f"{row['model']} by {thousands(row['b10'])} {row['counted_in']} ({thousands(row['b10_low_limit'])} "
        + (f"to {thousands(row['b10_high_limit'])})" if row["b10_high_limit"] else "or more)")
        for row in (rows[i] for i in tables["life"].drawn())
        if row["grouped_by"] == "model" and row["b10"]
    ]
    if named:
        yield f"10 % have left their window after that much use: {listing(named)}."


def instruments(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """Due and found out."""
    held, bad = tables["instruments"], tables["instruments_found_out"]
    at = held.at("state")
    late, soon = (sum(row[at] == word for row in held.rows) for word in ("out of date", "due soon"))
    if late or soon:
        yield (
            f"{capital(count_of(late, 'instrument'))} {verb(late, 'is', 'are')} out of date and {soon} due for "
            "calibration within 30 days."
        )
    if bad.rows:
        names = listing([row[0] for row in bad.rows[:5]])
        checks = sum(int(row[bad.at("checks")]) for row in bad.rows)
        made = count_of(checks, "check")
        yield f"{names} came back beyond the permissible error; {made} had been made with such an instrument."
    recalled = tables["recalls"]
    if recalled.rows:
        flips, waiting = (sum(int(row[recalled.at(key)]) for row in recalled.rows) for key in ("flips", "waiting"))
        yield (
            f"Of {count_of(len(recalled.rows), 'recall')} open in the twelve months, {count_of(flips, 'verdict')} "
            f"{verb(flips, 'changes', 'change')} and {count_of(waiting, 'unit')} "
            f"{verb(waiting, 'waits', 'wait')} to be seen again."
        )


def studies(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """Who measures differently, and who goes by a study."""
    held = tables["measurement_studies"]
    for row in tables["depots_compared"].named():
        if row["said"] == "stands out":
            value, low, high = (row[key] for key in ("difference", "difference_low_limit", "difference_high_limit"))
            way, ends = ("less", (high, low)) if value.startswith("-") else ("more", (low, high))
            yield (
                f"{row['depot']} reads {value.lstrip('-')} mm {way} than the other depots that agree, on the same "
                f"{row['units']} units of {row['model']} ({' to '.join(end.lstrip('-') for end in ends)} mm)."
            )
    depots = sorted({row[held.at("depot")] for row in held.rows if row[held.at("state")] == "published"})
    if depots:
        others = ", those of other depots on an assumption" if scope == "the fleet" else ""
        yield f"Verdicts of {listing(depots)} rest on a published measurement study{others}."


def quality(tables: Tables, month: Month, scope: str) -> Iterator[str]:
    """What the records lack."""
    row = cells(tables["data_quality"], depot="all")
    if row:
        never, without, trucks = (int(row[key]) for key in ("never_checked", "without_trips", "trucks"))
        lack = f"Records lack trips of {without:,} of {trucks:,} trucks in service"
        trips = lack if without else "Every truck in service has trips on record"
        checked = f", and {count_of(never, 'unit')} {verb(never, 'was', 'were')} never checked" if never else ""
        yield f"{trips}{checked}."
