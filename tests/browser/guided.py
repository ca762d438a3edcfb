"""Bays for browser tests of the guided check."""

from fleet.models import TurbochargerModel, User
from tests.bay import Bay, calibrated, make_bay
from tests.factories import CommandToolFactory, TurbochargerModelFactory


def bay_in_inches() -> Bay:
    """A bay whose technician reads psi and inches."""
    return _in_inches(make_bay())


def electric_bay() -> Bay:
    """A bay with an electric actuator: set at 60 %, at most 95 %, and the tool that commands it."""
    model = TurbochargerModelFactory(stimulus=TurbochargerModel.Stimulus.ELECTRIC)
    bay = make_bay(model=model, setting=60.0, stimulus_max=95.0, capture_tolerance=0.6, zero_tolerance_stimulus=0.5)
    bay.gauge = calibrated(CommandToolFactory(depot=bay.depot), top=100.0, uncertainty=0.2)
    return _in_inches(bay)


def _in_inches(bay: Bay) -> Bay:
    User.objects.filter(pk=bay.technician.pk).update(
        pressure_unit="psi", length_unit="in", first_name="Una", last_name="Teal"
    )
    bay.technician.refresh_from_db()
    return bay
