"""A row of everything from the demonstration fleet, under the names that url_table.py asks for.

What people leave lying about in the course of a day (a draft, a token, a file half brought in) is made where none is.
"""

from functools import cached_property
from typing import Any, TypeVar

from django.db.models import Model, QuerySet
from django.utils import timezone

from checks.models import Check, CheckPhoto, Draft, Forecast, FuelPrice, Instrument, Recall, Study
from checks.selectors.specification import revision_in_force
from checks.services.draft import begin_draft
from fleet.imports.staging import Staged, stage
from fleet.jobs.tasks import run_job
from fleet.models import Complaint, Depot, Engine, Job, Membership, Token, TripImport, Truck, Turbocharger, User
from fleet.services.token import make_token
from reports.models import Review
from reports.review.month import month_before
from reports.services.review import ask_review
from tests.bay import Bay
from tests.factories import JobFactory
from tests.studies import planned_study
from tests.world import TRUCKS, photograph, send_trips

Row = TypeVar("Row", bound=Model)


class DemoWorld:
    """Each row is looked for when a page asks for it; a page whose row is missing says so and is counted as a fault."""

    @cached_property
    def recall(self) -> Recall:
        return _some(Recall.objects.filter(strokes__isnull=False))

    @cached_property
    def check(self) -> Check:
        """One that the recall put in question, so that every page has something to say."""
        return _some(Check.objects.filter(strokes__assessments__recalled__recall=self.recall))

    @cached_property
    def turbocharger(self) -> Turbocharger:
        return self.check.turbocharger

    @cached_property
    def depot(self) -> Depot:
        return self.turbocharger.depot

    @cached_property
    def model(self) -> Any:
        return self.turbocharger.model

    @cached_property
    def specification(self) -> Any:
        return revision_in_force(self.model, timezone.localdate())

    @cached_property
    def engine(self) -> Engine:
        return _some(Engine.objects.filter(fitments__turbocharger=self.turbocharger, fitments__removed_on=None))

    @cached_property
    def truck(self) -> Truck:
        return _some(Truck.objects.filter(installations__engine=self.engine, installations__removed_on=None))

    @cached_property
    def operator(self) -> User:
        return _some(User.objects.filter(is_superuser=True))

    @cached_property
    def manager(self) -> User:
        return self._person(Membership.Role.MANAGER)

    @cached_property
    def technician(self) -> User:
        return self._person(Membership.Role.TECHNICIAN)

    @cached_property
    def viewer(self) -> User:
        return self._person(Membership.Role.VIEWER)

    @cached_property
    def membership(self) -> Membership:
        return _some(self.technician.memberships.filter(depot=self.depot))

    @cached_property
    def dial(self) -> Instrument:
        return _some(Instrument.objects.filter(depot=self.depot, kind=Instrument.Kind.DIAL, certificates__isnull=False))

    @cached_property
    def gauge(self) -> Instrument:
        return _some(Instrument.objects.filter(depot=self.depot, kind=Instrument.Kind.GAUGE))

    @cached_property
    def complaint(self) -> Complaint:
        return _some(Complaint.objects.filter(truck__depot__memberships__user=self.manager, closed_on=None))

    @cached_property
    def forecast(self) -> Forecast:
        return _some(Forecast.objects.filter(turbocharger=self.turbocharger))

    @cached_property
    def fuel_price(self) -> FuelPrice:
        return _some(FuelPrice.objects.filter(depot=self.depot))

    @cached_property
    def study(self) -> Study:
        return _some(Study.objects.filter(depot=self.depot, readings__travel_mm__isnull=False).distinct())

    @cached_property
    def review(self) -> Review:
        kept = Review.objects.filter(files__isnull=False).first()
        return kept or self._made_review()

    @cached_property
    def bay(self) -> Bay:
        """The rows by which the tests' world makes others."""
        return Bay(**{name: getattr(self, name) for name in Bay.__dataclass_fields__})

    @cached_property
    def study_begun(self) -> Study:
        begun = Study.objects.filter(depot=self.depot, name="Begun").first()
        return begun or planned_study(self.bay, name="Begun")

    @cached_property
    def photo(self) -> CheckPhoto:
        return CheckPhoto.objects.filter(check_made=self.check).first() or photograph(self.bay, self.check)

    @cached_property
    def draft(self) -> Draft:
        return begin_draft(user=self.technician, turbocharger=self.turbocharger)

    @cached_property
    def token(self) -> Token:
        known = Token.objects.filter(user=self.technician, revoked_at=None).first()
        return known or make_token(user=self.technician, name="Meter bridge", scopes=["register:write"], days=30)[0]

    @cached_property
    def trips(self) -> TripImport:
        return send_trips(self.bay)

    @cached_property
    def trips_tried(self) -> TripImport:
        return send_trips(self.bay, tried=True)

    @cached_property
    def trial(self) -> Staged:
        return stage(user=self.manager, kind="trucks", name="trucks.csv", content=TRUCKS)

    @cached_property
    def job(self) -> Job:
        return Job.objects.filter(requested_by=self.technician).first() or JobFactory(requested_by=self.technician)

    def _made_review(self) -> Review:
        last = month_before(timezone.localdate())
        review = ask_review(user=self.manager, month=last, depot=self.depot, key=None)
        run_job(review.job_id)
        review.refresh_from_db()
        return review

    def _person(self, role: str) -> User:
        held = {"memberships__depot": self.depot, "memberships__role": role}
        return _some(User.objects.filter(is_superuser=False, **held))


def _some(rows: QuerySet[Row]) -> Row:
    """The newest of the rows. LookupError names what there is none of."""
    row = rows.order_by("-pk").first()
    if row is None:
        raise LookupError(f"There is no {rows.model.__name__} to open the page with.")
    return row
