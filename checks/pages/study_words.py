"""What pages say of a study: its size, its setting and what may never be passed."""

from typing import Any

from checks.display import stimulus_text
from checks.measurement.study_plan import USUAL, Size
from checks.models import Study
from checks.selectors.specification import stimulus_unit
from fleet.models import User

TRIALS_USUAL = 3


def size_lines() -> list[dict[str, Any]]:
    """Usual sizes of a study with what each can tell."""
    return [_size_line(told) for told in USUAL]


def _size_line(told: Size) -> dict[str, Any]:
    return {
        "told": told,
        "doubt": f"{100 * told.doubt:.0f} %",
        "low": f"{told.low:.2f}",
        "high": f"{told.high:.2f}",
    }


def setting_text(study: Study, user: User) -> str:
    """The setting of the study's specification, such as ``213.7 kPa``."""
    return stimulus_text(study.specification.setting, stimulus_unit(study.specification.turbocharger_model, user))


def maximum_text(study: Study, user: User) -> str:
    """What may never be passed."""
    return stimulus_text(study.specification.stimulus_max, stimulus_unit(study.specification.turbocharger_model, user))
