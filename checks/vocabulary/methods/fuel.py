"""Numbers of fuel."""

from checks.vocabulary.methods.method import Method, MethodGroup
from checks.vocabulary.methods.places import FUEL, RESTORED

FROM_TRIPS = "The unit's page has its truck's months as a table; each month opens its trips."

METHODS = MethodGroup(
    "fuel",
    "Fuel",
    (
        Method(
            key="adjusted-fuel",
            name="adjusted fuel use",
            title="Adjusted fuel use",
            in_short="Monthly fuel use of a truck with payload, ascent, speed, idling and air temperature taken out, "
            "so that months can be compared; the wastegate is left in.",
            behind=FROM_TRIPS,
            begin=FUEL,
            sources=("Fixed-effects regression; any textbook of econometrics",),
            modules=("checks.rules.fuel", "checks.rules.moments"),
        ),
        Method(
            key="fuel-effect",
            name="effect on fuel",
            title="Fuel effect of travel outside the window",
            in_short="From trips, truck by truck over time, with payload, ascent, speed, idling and air temperature "
            "taken out; 95 % limits leave out one truck at a time.",
            behind="The list of units leads to each unit, its truck's months and their trips.",
            begin=FUEL,
            sources=(
                "Bell and McCaffrey 2002; MacKinnon, Nielsen and Webb 2023, for the limits",
                "Cameron and Miller 2015, for errors clustered by truck",
            ),
            modules=("checks.rules.fuel", "checks.rules.smoothing", "checks.rules.truck_travel"),
            limits=True,
        ),
        Method(
            key="fuel-cost",
            name="litres and money",
            title="Litres, money and CO₂",
            in_short="What would not have been burnt inside the window. Kilograms of CO2 by 40 CFR 98, Table C-1.",
            behind="The whole list as CSV; each unit's page has its truck's months, and those their trips. Fuel "
            "prices have a page of their own.",
            begin=FUEL,
            sources=("40 CFR 98, Table C-1: distillate fuel oil no. 2, 10.21 kg a US gallon or 2.696 kg a litre",),
            modules=("checks.rules.fuel_cost",),
        ),
        Method(
            key="thirst",
            name="thirst alarm",
            title="Thirst alarm",
            in_short="Stands while a truck has burnt more than its own level for so long, or by so much, that chance "
            "does not explain it.",
            behind=FROM_TRIPS,
            begin=FUEL,
            sources=(
                "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 and 6.3.2.2",
                "Months that make the level, and the least spread: ours, no source",
            ),
            modules=("checks.rules.thirst",),
        ),
        Method(
            key="before-and-after",
            name="before and after",
            title="Before and after a restoration",
            in_short="The change of a truck's adjusted fuel use around a restoration, less the change of trucks "
            "without one in the same months.",
            behind="Each row opens the check and the unit, whose page has the truck's months and their trips.",
            begin=RESTORED,
            sources=("DerSimonian and Laird 1986", "Hartung and Knapp 2001"),
            modules=("checks.rules.restoration",),
            limits=True,
        ),
    ),
)
