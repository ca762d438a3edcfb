"""The instruments of a check, each in its part: found within what the person may see, and refused where unfit."""

from datetime import date

from checks.models import Instrument
from checks.models.instrument_parts import PARTS, kinds_for
from checks.services.faults import Faults
from checks.services.quantity import number_of
from checks.services.submission import Submission
from fleet.models import User
from fleet.selectors.scope import visible_to

Kind = Instrument.Kind
CALIBRATED = ("certificates__points",)
ROLES = {
    "dial": "dial indicator",
    "stimulus": "pressure instrument or command tool",
    "meter": "multimeter",
    "regulator": "regulator",
}


def find_instruments(
    user: User, sent: Submission, stimulus: str, on: date, faults: Faults
) -> dict[str, Instrument | None]:
    """The instrument of each part, with its certificates; ``faults`` names what is missing, withdrawn or unfit."""
    named = {role: number_of(sent.instruments.get(role)) for role in PARTS}
    rows = visible_to(user, Instrument.objects.all()).filter(pk__in=named.values())
    found = {row.pk: row for row in rows.prefetch_related(*CALIBRATED)}
    tools = {role: found.get(pk) for role, pk in named.items()}
    for role, tool in tools.items():
        if tool is None and (sent.instruments.get(role) not in (None, "") or role in {"dial", "stimulus"}):
            faults.add("no_such_instrument", f"instruments.{role}", f"Choose the {ROLES[role]} of one of your depots.")
        elif tool is not None and tool.withdrawn_on and tool.withdrawn_on <= on:
            faults.add(
                "instrument_withdrawn",
                f"instruments.{role}",
                f"{tool} was withdrawn on {tool.withdrawn_on:%-d %b %Y}. Choose another {ROLES[role]}.",
            )
    require_kinds(tools, stimulus, faults)
    return tools


def require_kinds(tools: dict[str, Instrument | None], stimulus: str, faults: Faults) -> None:
    """Note every instrument that cannot do its part in a check of such an actuator."""
    fits = {part: kinds_for(part, electric=stimulus == "electric") for part in PARTS}
    for role, tool in tools.items():
        if tool is not None and tool.kind not in fits[role]:
            wanted = " or ".join(Kind(kind).label for kind in sorted(fits[role]))
            faults.add(
                "wrong_kind",
                f"instruments.{role}",
                f"{tool} is a {tool.get_kind_display()}; an actuator that is {stimulus} needs a {wanted} here.",
            )
    _require_meter(tools["stimulus"], tools["meter"], faults)


def _require_meter(stimulus: Instrument | None, meter: Instrument | None, faults: Faults) -> None:
    if stimulus is None:
        return
    transducer = stimulus.kind == Kind.TRANSDUCER
    if transducer and meter is None:
        faults.add(
            "meter_missing",
            "instruments.meter",
            f"Transducer {stimulus} is read on a multimeter in {stimulus.electrical_unit}. Choose the multimeter.",
        )
    elif transducer and meter and meter.electrical_unit != stimulus.electrical_unit:
        faults.add(
            "meter_unit_differs",
            "instruments.meter",
            f"{meter} reads {meter.electrical_unit or 'nothing electrical'}, but transducer {stimulus} gives "
            f"{stimulus.electrical_unit}. Choose a multimeter that reads {stimulus.electrical_unit}.",
        )
    elif meter is not None and not transducer:
        faults.add(
            "meter_not_used", "instruments.meter", f"{stimulus} shows its value itself. Leave the multimeter out."
        )
