"""What a truck's fuel and its wastegate say together."""

from checks.display import length_text
from reports.selectors.thirst import ThirstyTrucks, TruckFuel
from reports.words.fuel import share_text
from reports.words.grammar import capital, count_of, number


def thirst_sentence(fuel: TruckFuel, unit: str) -> str:
    """Such as ``Truck 306 uses 3.1 % (1.2 to 5.0 %) more than its own level since May 2026; its wastegate ...``"""
    name = f"Truck {fuel.unit_number}"
    if not fuel.level_told:
        return f"{name} has too few months of trips for a level of its own; {wastegate(fuel, unit)}."
    if not fuel.alarm or fuel.more is None or fuel.since is None:
        return f"{name} uses no more than its own level as far as can be told; {wastegate(fuel, unit)}."
    more = share_text(fuel.more.value, fuel.more.low, fuel.more.high)
    return (
        f"{name} uses {more} more than its own level since {fuel.since:%b %Y}; {wastegate(fuel, unit)}. {_next(fuel)}"
    )


def wastegate(fuel: TruckFuel, unit: str) -> str:
    """Such as ``its wastegate has stood 0.21 mm low since Apr 2026``."""
    if not fuel.state:
        return "what its wastegate did is not known: no reading was made in this fitting"
    if fuel.state == "inside":
        return f"its wastegate has stood inside its window since {fuel.state_since:%b %Y}"
    side = fuel.state.removeprefix("outside_")
    return f"its wastegate has stood {length_text(fuel.beyond_mm, unit)} {side} since {fuel.state_since:%b %Y}"


def _next(fuel: TruckFuel) -> str:
    if not fuel.state:
        return "Check it to know."
    return "Look for the cause elsewhere." if fuel.state == "inside" else "Set it right first, then see what is left."


def thirsty_sentence(found: ThirstyTrucks) -> str:
    """Such as ``Two thirsty trucks stand outside their window, three inside.``"""
    if not found.count:
        return "No truck uses more than its own level now."
    parts = [(found.outside, "outside the window"), (found.inside, "inside it"), (found.unknown, "where nobody looked")]
    told = ", ".join(f"{number(len(trucks))} {where}" for trucks, where in parts if trucks)
    verb = "uses" if found.count == 1 else "use"
    return f"{capital(count_of(found.count, 'truck'))} {verb} more than their own level: {told}.".replace(
        "truck uses more than their", "truck uses more than its"
    )
