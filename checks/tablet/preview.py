"""The verdict on a stroke before it is signed: the same core, the same inputs, nothing stored."""

from checks.convert import to_stroke
from checks.measurement.result import Assessment
from checks.measurement.workings import Case
from checks.selectors.grounds import grounds_for
from checks.services.assessment import measure
from checks.services.faults import Faults
from checks.services.readings import read_stroke
from checks.tablet.desk import Desk


def preview(desk: Desk, moment: str) -> Assessment:
    """Judge the as-found or as-left stroke of a check under way; five queries beside the desk's own.

    Raises
    ------
    FleetErrors, FleetError
        Where a reading could not be one.
    """
    faults = Faults()
    rows = read_stroke(desk.answers.get(moment), moment, desk.kit.scale, faults)
    faults.settle()
    grounds = grounds_for(desk.specification)
    case = Case(
        stroke=to_stroke(rows, desk.made_on),
        specification=desk.core_specification,
        instruments=desk.kit.channels.instruments,
        policy=grounds.policy,
        model_slope=grounds.slope,
        study=grounds.studies.figures(desk.turbocharger.depot_id, desk.made_at),
        adjustments=grounds.adjustments,
    )
    return measure([case])[0]
