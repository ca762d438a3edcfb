"""A complaint and one unit that it may be about."""

from datetime import date

from checks.rules.evidence import Stand, weigh

RAISED = date(2026, 5, 10)


def one(**records):
    return weigh([Stand(name="114", **records)], RAISED, None)
