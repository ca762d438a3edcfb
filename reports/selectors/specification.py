"""A specification as pages and sheets state it, in the viewer's units."""

from dataclasses import dataclass

from checks.display import length_text, lengths_text, stimulus_text
from checks.models import SpecificationRevision
from checks.selectors.specification import stimulus_unit
from fleet.models import User


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecificationFacts:
    """What a revision states; texts are empty where there is no revision."""

    pk: int | None = None
    model: str = ""
    revision: str = ""
    document: str = ""
    setting: str = ""
    window: str = ""
    nominal: str = ""
    stimulus_max: str = ""


def facts_of(held: SpecificationRevision | None, user: User) -> SpecificationFacts:
    """State a revision; no query where its model was read with it."""
    if held is None:
        return SpecificationFacts()
    pressure, length = stimulus_unit(held.turbocharger_model, user), user.length_unit
    return SpecificationFacts(
        pk=held.pk,
        model=held.turbocharger_model.name,
        revision=held.revision,
        document=", ".join(part for part in (held.source_document, held.source_revision) if part),
        setting=stimulus_text(held.setting, pressure),
        window=lengths_text(held.lower_mm, held.upper_mm, length),
        nominal=length_text(held.nominal_mm, length),
        stimulus_max=stimulus_text(held.stimulus_max, pressure),
    )
