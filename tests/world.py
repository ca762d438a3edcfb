"""One row of everything: what a test needs that opens every page."""

import io
import uuid
from datetime import date
from types import SimpleNamespace

from django.utils import timezone
from PIL import Image

from checks.models import Check, CheckPhoto, Forecast, Recall
from checks.services.check import record_check
from checks.services.draft import begin_draft
from checks.services.photo import add_photo
from checks.services.recall import judge_all, open_recall
from fleet.imports.staging import stage
from fleet.imports.trips.job import KIND
from fleet.imports.trips.sending import begin_import
from fleet.jobs.tasks import run_job
from fleet.models import Complaint, Job, TripImport
from fleet.services.token import make_token
from tests.bay import Bay, make_bay, person
from tests.factories import (
    CertificateFactory,
    CertificatePointFactory,
    ForecastFactory,
    FuelPriceFactory,
    JobFactory,
    UserFactory,
)
from tests.reviews import kept_review
from tests.studies import filled_study, planned_study

TRIPS = "truck,start,duration_h,distance_km,fuel_l\n{0},2025-03-14 08:30,1.5,90,31\n{0},2025-03-14 08:30,1.5,90,none\n"
TRUCKS = b"unit_number,depot,in_service_on\nnot,a,truck\n"


def make_world() -> SimpleNamespace:
    """One row of everything at one depot, with its people, and the manager of another depot."""
    bay = make_bay()
    day = timezone.localdate()
    complaint = Complaint.objects.create(truck=bay.truck, kind="smoke", raised_on=day, raised_by="the driver")
    check = record_check(user=bay.technician, submission=bay.submission())
    return SimpleNamespace(
        **vars(bay),
        trips=send_trips(bay),
        trips_tried=send_trips(bay, tried=True),
        outsider=make_bay().manager,
        operator=UserFactory(is_superuser=True),
        colleague=person(bay.depot, "technician"),
        model=bay.turbocharger.model,
        membership=bay.viewer.memberships.get(),
        complaint=complaint,
        fuel_price=FuelPriceFactory(depot=bay.depot),
        check=check,
        recall=recall_gauge(bay),
        study=filled_study(bay),
        study_begun=planned_study(bay, name="Begun"),
        photo=photograph(bay, check),
        forecast=Forecast.objects.filter(turbocharger=bay.turbocharger).first()
        or ForecastFactory(turbocharger=bay.turbocharger),
        token=make_token(user=bay.technician, name="Meter bridge", scopes=["register:write"], days=30)[0],
        review=kept_review(bay.depot, bay.manager),
        draft=begin_draft(user=bay.technician, turbocharger=bay.turbocharger),
        trial=stage(user=bay.manager, kind="trucks", name="trucks.csv", content=TRUCKS),
        job=JobFactory(requested_by=bay.technician),
    )


def recall_gauge(bay: Bay) -> Recall:
    """The gauge came back reading a quarter high, after the check was made with it; one unit is to be seen again."""
    certificate = CertificateFactory(instrument=bay.gauge, issued_on=date(2025, 6, 1))
    for at in (0.0, 100.0, 200.0, 420.0):
        CertificatePointFactory(certificate=certificate, indication=at, error=0.25 * at, moment="as_found")
        CertificatePointFactory(certificate=certificate, indication=at)
    recall = open_recall(certificate=certificate, author=bay.manager)
    assert recall is not None
    judge_all()
    recall.refresh_from_db()
    return recall


def photograph(bay: Bay, check: Check) -> CheckPhoto:
    """A photograph of the dial at a check."""
    file = io.BytesIO()
    Image.new("RGB", (64, 48), "grey").save(file, "JPEG")
    size = file.tell()
    file.seek(0)
    return add_photo(user=bay.technician, check=check, key=uuid.uuid4(), what="dial", file=file, size=size)


def send_trips(bay: Bay, *, tried: bool = False) -> TripImport:
    """A file of trips that the bay's manager sent, with its trial run or before it."""
    content = TRIPS.format(bay.truck.unit_number).encode()
    sent = begin_import(user=bay.manager, source="Yard export", name="trips.csv", upload=io.BytesIO(content))
    if tried:
        arguments = {"key": str(sent.key), "trial": True}
        job = Job.objects.create(requested_by=bay.manager, kind=KIND, arguments=arguments)
        sent.trial_job = job
        sent.save()
        run_job(job.pk)
    return sent
