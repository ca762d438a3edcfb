"""Words of the work on a wastegate. The trade's, without a source, unless one is named."""

from checks.vocabulary.terms.term import Term, TermGroup

TERMS = TermGroup(
    "work",
    "The wastegate and its check",
    (
        Term(
            name="wastegate",
            meaning="The valve that leads exhaust past the turbine and so limits how fast the turbocharger turns.",
        ),
        Term(
            name="unit",
            meaning="One turbocharger with its wastegate and actuator. It is called by the truck that carries it and "
            "its place on the engine, and keeps its history when it moves.",
        ),
        Term(
            name="unit number",
            meaning="What the fleet calls a truck.",
        ),
        Term(
            name="actuator",
            meaning="What moves the rod: a diaphragm under pressure, or an electric motor that is given a position.",
        ),
        Term(
            name="canister",
            meaning="The housing of a pneumatic actuator with its diaphragm and spring.",
        ),
        Term(
            name="canister maximum",
            meaning="The highest pressure that the canister may see. A check that passes it is void, and the unit is "
            "inspected before the next one.",
            unit="kPa, psi or bar",
        ),
        Term(
            name="rod travel",
            meaning="How far the actuator's rod moves from its rest. Pages say travel for short.",
            unit="mm, in or thou",
            method="travel",
        ),
        Term(
            name="stimulus",
            meaning="What is applied to the actuator: pressure to a pneumatic one, a commanded position to an "
            "electric one.",
            unit="kPa, psi, bar or %",
        ),
        Term(
            name="setting pressure",
            meaning="The pressure at which the specification states the travel. Of an electric actuator it is the "
            "setting command, in %.",
            unit="kPa, psi or bar",
        ),
        Term(
            name="highest permitted",
            meaning="The highest stimulus that may be applied: the canister maximum of a pneumatic actuator, the "
            "highest command of an electric one.",
            unit="kPa, psi, bar or %",
        ),
        Term(
            name="capture tolerance",
            meaning="How near to the setting a reading must be taken to count as one at the setting.",
            unit="% of the setting, kPa, psi, bar or %",
        ),
        Term(
            name="zero tolerance",
            meaning="How far from zero an instrument may stand after a vent before the stroke is void.",
            unit="that of the instrument",
        ),
        Term(
            name="specification",
            meaning="What a turbocharger model should do: setting, window, nominal and highest stimulus, with the "
            "document they come from. A check is judged by the revision in force on its day.",
        ),
        Term(
            name="window",
            meaning="The travels that the specification allows at the setting, from the lower to the upper limit.",
            unit="mm, in or thou",
        ),
        Term(
            name="lower limit",
            meaning="The smallest travel allowed; the standard calls it the lower tolerance limit.",
            unit="mm, in or thou",
            source="JCGM 106",
        ),
        Term(
            name="upper limit",
            meaning="The largest travel allowed; the standard calls it the upper tolerance limit.",
            unit="mm, in or thou",
            source="JCGM 106",
        ),
        Term(
            name="nominal",
            meaning="The travel that an adjustment aims at.",
            unit="mm, in or thou",
        ),
        Term(
            name="stroke",
            meaning="One run of the procedure: zeros, exercise, return to zero, the rise that counts, and a fall or "
            "a hold where they were made.",
        ),
        Term(
            name="rise",
            meaning="Readings at a growing stimulus since the line was last vented. The last rise counts.",
        ),
        Term(
            name="hold",
            meaning="Readings over time with the supply closed; they tell the leak-down.",
        ),
        Term(
            name="check",
            meaning="One visit to a unit: the stroke as found and, where the rod was turned, the stroke as left.",
        ),
        Term(
            name="as found",
            meaning="The unit as it came in, before anybody touched the rod.",
        ),
        Term(
            name="as left",
            meaning="The unit after its rod was turned.",
        ),
        Term(
            name="half turn",
            meaning="The smallest step of an adjustment: the rod end goes back onto the lever pin only every half "
            "turn.",
            method="adjustment",
        ),
        Term(
            name="setting",
            meaning="How the rod stands, from a fitting or an adjustment until the next. Drift and life are counted "
            "from its beginning.",
        ),
        Term(
            name="start-of-travel pressure",
            meaning="The pressure at which the rod begins to move.",
            unit="kPa, psi or bar",
            method="start-of-travel",
        ),
        Term(
            name="slope at the setting",
            meaning="By how much travel grows with pressure near the setting.",
            unit="mm per kPa",
            method="slope",
        ),
        Term(
            name="hysteresis",
            meaning="How much further out the rod stands on the fall than on the rise at one pressure.",
            unit="mm, in or thou",
            method="hysteresis",
        ),
        Term(
            name="sticking",
            meaning="A step of the rod that its smooth curve does not explain.",
            unit="mm, in or thou",
            method="sticking",
        ),
        Term(
            name="leak-down",
            meaning="How fast pressure is lost with the supply closed.",
            unit="kPa per minute",
            method="leak-down",
        ),
        Term(
            name="window strip",
            meaning="The small picture of one reading: the window as a band that is always the middle half, the "
            "nominal as a broken line, the reading as the mark of its state, its expanded uncertainty as a whisker.",
        ),
    ),
)
