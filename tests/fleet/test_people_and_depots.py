"""Depots, people, roles, and each person's own units."""

import pytest

from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.services.depot import add_depot, edit_depot
from fleet.services.membership import add_person, change_role, end_membership, set_preferences

pytestmark = pytest.mark.django_db
PASSWORD = "shingle-and-lichen"


def refusal(call, **arguments) -> tuple[str, str]:
    with pytest.raises(FleetError) as caught:
        call(**arguments)
    return caught.value.code, caught.value.field


def test_whoever_adds_a_depot_manages_it(crew):
    depot = add_depot(user=crew.manager, code="QUAR", name="Quarry Fork", time_zone="Europe/London")
    assert depot.memberships.get().user == crew.manager
    assert depot.memberships.get().role == "manager"


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"name": "saltmarsh"}, ("depot_name_once", "name")),
        ({"name": ""}, ("blank", "name")),
        ({"code": "SALT"}, ("unique", "code")),
        ({"code": "two words"}, ("invalid", "code")),
        ({"working_days": "331"}, ("depot_working_days", "working_days")),
        ({"time_zone": "Mars/Olympus"}, ("unknown_time_zone", "time_zone")),
    ],
)
def test_a_wrong_depot_is_refused_at_its_field(crew, changes, expected):
    assert refusal(add_depot, **{"user": crew.manager, "code": "QUAR", "name": "Quarry Fork"} | changes) == expected


def test_a_depot_is_corrected_by_its_manager_alone(crew):
    assert edit_depot(user=crew.manager, depot=crew.depot, checks_per_day=6).checks_per_day == 6
    assert crew.depot.history.first().history_user == crew.manager
    assert refusal(edit_depot, user=crew.stranger, depot=crew.depot, checks_per_day=1) == ("not_allowed", "")


def test_a_new_person_gets_a_sign_in_and_a_role(crew):
    held = add_person(
        user=crew.manager,
        depot=crew.depot,
        username="curlew",
        role="technician",
        first_name="Curlew",
        password=PASSWORD,
    )
    assert held.user.check_password(PASSWORD)
    assert (held.role, held.depot) == ("technician", crew.depot)


def test_somebody_who_signs_in_already_gets_a_role_only(crew):
    held = add_person(user=crew.manager, depot=crew.depot, username="PLOVER", role="viewer")
    assert held.user == crew.stranger
    assert User.objects.filter(username__iexact="plover").count() == 1


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"username": "curlew", "password": ""}, ("password_needed", "password")),
        ({"username": "curlew", "password": "short"}, ("password_weak", "password")),
        ({"username": "plover", "password": PASSWORD}, ("person_exists", "password")),
        ({"username": "sedge", "password": ""}, ("one_role_per_depot", "username")),
        ({"username": "a b", "password": PASSWORD}, ("invalid", "username")),
        ({"username": "curlew", "password": PASSWORD, "role": "owner"}, ("invalid_choice", "role")),
    ],
)
def test_a_wrong_person_is_refused_at_its_field(crew, changes, expected):
    assert refusal(add_person, **{"user": crew.manager, "depot": crew.depot, "role": "viewer"} | changes) == expected


@pytest.mark.parametrize("who", ["technician", "viewer", "stranger"])
def test_only_the_depots_manager_adds_people(crew, who):
    wanted = {"depot": crew.depot, "username": "curlew", "role": "viewer", "password": PASSWORD}
    assert refusal(add_person, user=getattr(crew, who), **wanted) == ("not_allowed", "")


def test_a_depot_keeps_a_manager(crew):
    own = crew.manager.memberships.get()
    assert refusal(change_role, user=crew.manager, membership=own, role="viewer") == ("last_manager", "role")
    assert refusal(end_membership, user=crew.manager, membership=own) == ("last_manager", "role")
    change_role(user=crew.manager, membership=crew.technician.memberships.get(), role="manager")
    end_membership(user=crew.manager, membership=own)
    assert not Membership.objects.filter(user=crew.manager).exists()


def test_preferences_are_kept_and_unknown_units_refused(crew):
    wanted = {
        "user": crew.viewer,
        "pressure_unit": "psi",
        "length_unit": "thou",
        "distance_unit": "mi",
        "theme": "dark",
    }
    assert set_preferences(**wanted).distance_unit == "mi"
    assert refusal(set_preferences, **wanted | {"distance_unit": "league"}) == ("invalid_choice", "distance_unit")
