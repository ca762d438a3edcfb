"""An empty installation: its first person, and the way to the first check."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from checks.models import SpecificationRevision
from checks.services.check import record_check
from fleet.models import Depot, Membership, User
from tests.bay import make_bay
from tests.factories import MembershipFactory, UserFactory

pytestmark = pytest.mark.django_db
TYPED = {
    "username": "first", "password": "salt-and-rust-on-iron", "again": "salt-and-rust-on-iron", "name": "Saltmarsh",
    "code": "SALT", "time_zone": "Europe/Berlin",
}  # fmt: skip


@pytest.fixture
def local(settings):
    settings.LOCAL = True


def test_the_first_visit_leads_to_the_first_person(client, local):
    assert client.get("/", follow=True).redirect_chain[-1][0] == reverse("fleet:begin")
    answer = client.post(reverse("fleet:begin"), TYPED, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("reports:first_steps")
    person = User.objects.get()
    assert person.check_password(TYPED["password"])
    assert person.is_superuser
    assert Membership.objects.get().role == Membership.Role.MANAGER
    assert Depot.objects.get().time_zone == "Europe/Berlin"
    assert answer.wsgi_request.user == person


def test_a_short_name_with_a_gap_is_refused_in_plain_words(client, local):
    page = client.post(reverse("fleet:begin"), TYPED | {"code": "S 1"})
    assert page.context["form"].errors["code"] == [
        "A short name has letters, digits, '-' and '_' and no gaps. Write SALT or S-1."
    ]


def test_whoever_comes_second_signs_in(client, local):
    UserFactory()
    for answer in (client.get(reverse("fleet:begin")), client.post(reverse("fleet:begin"), TYPED)):
        assert answer.url == reverse("login")
    assert User.objects.count() == 1
    assert not Depot.objects.exists()
    assert client.get(reverse("login")).status_code == 200


def test_where_strangers_could_come_first_nothing_is_made(client, settings):
    settings.LOCAL = False
    page = client.post(reverse("fleet:begin"), TYPED)
    assert b"createsuperuser" in page.content
    assert not User.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [("password", "short"), ("again", "something else"), ("time_zone", "Atlantis"), ("username", ""), ("code", "a b")],
)
def test_what_cannot_be_is_told_beside_its_field_and_nothing_is_made(client, local, field, value):
    same = {"again": value} if field == "password" else {}
    page = client.post(reverse("fleet:begin"), TYPED | {field: value} | same)
    assert page.status_code == 200
    assert field in page.context["form"].errors
    assert not User.objects.exists()
    assert not Depot.objects.exists()
    assert TYPED["name"] in page.content.decode()


def test_somebody_made_on_the_server_can_add_the_first_depot(client):
    client.force_login(UserFactory(is_superuser=True))
    bay = {"checks_per_day": "4", "working_days": list("12345")}
    answer = client.post(reverse("fleet:depot_add"), {"name": "Saltmarsh", "code": "SALT", "time_zone": "UTC"} | bay)
    assert answer.status_code == 302
    assert Depot.objects.get().code == "SALT"


def following(client) -> str:
    step = client.get(reverse("reports:first_steps")).context["following"]
    return step.title if step else ""


def test_the_steps_follow_what_is_on_record(client):
    person = MembershipFactory(role="manager").user
    client.force_login(person)
    assert following(client) == "A specification"
    bay = make_bay()
    Membership.objects.create(user=person, depot=bay.depot, role="manager")
    assert following(client) == "The first check"
    record_check(user=bay.technician, submission=bay.submission())
    assert following(client) == ""


def test_an_instrument_without_a_certificate_does_not_do(client):
    bay = make_bay()
    client.force_login(bay.manager)
    bay.gauge.certificates.all().delete()
    page = client.get(reverse("reports:first_steps"))
    assert page.context["following"].title == "Instruments with certificates"
    assert "One instrument without one." in page.content.decode()


def test_a_viewer_is_not_sent_to_set_things_up(client):
    client.force_login(make_bay().viewer)
    assert client.get(reverse("reports:first_steps")).status_code == 403


def test_an_instrument_without_a_certificate_leads_straight_to_its_certificate(client):
    bay = make_bay()
    client.force_login(bay.manager)
    bay.gauge.certificates.all().delete()
    following = client.get(reverse("reports:first_steps")).context["following"]
    assert following.links[0] == ("Enter its certificate", reverse("checks:certificate_add", args=[bay.gauge.pk]))


def test_every_page_leads_whoever_began_back_to_the_steps(client, local):
    link = f'href="{reverse("reports:first_steps")}">First steps</a>'
    client.post(reverse("fleet:begin"), TYPED)
    assert link in client.get(reverse("fleet:trucks")).content.decode()
    client.force_login(make_bay().manager)
    assert link not in client.get(reverse("fleet:trucks")).content.decode()


def test_a_specification_that_is_not_in_force_does_not_do(client):
    bay = make_bay()
    client.force_login(bay.manager)
    tomorrow = timezone.localdate() + timedelta(days=1)
    SpecificationRevision.objects.filter(pk=bay.specification.pk).update(effective_from=tomorrow)
    page = client.get(reverse("reports:first_steps"))
    assert page.context["following"].title == "A specification"
    assert "no specification in force" in page.context["following"].told


def test_an_instrument_out_of_date_leads_to_its_new_certificate(client):
    bay = make_bay()
    client.force_login(bay.manager)
    bay.dial.certificates.update(due_on=timezone.localdate() - timedelta(days=1))
    following = client.get(reverse("reports:first_steps")).context["following"]
    assert following.links[0] == ("Enter its certificate", reverse("checks:certificate_add", args=[bay.dial.pk]))
