"""The page, sheet and files of a measurement study, and the pages that write it."""

import csv
import io

import pytest

from checks.models import Publication, StudyReading
from checks.selectors.study import told_of
from checks.services.study import amend_reading
from checks.services.study_publication import publish_study
from tests.bay import make_bay, person
from tests.studies import filled_study, planned_study, read_study

pytestmark = pytest.mark.django_db


@pytest.fixture
def bay():
    return make_bay()


def lead(answer):
    text = answer.content.decode()
    return text.split('<p class="lead">')[1].split("</p>")[0]


def test_the_sentence_tells_the_share_of_the_window(bay, signed_in):
    study = filled_study(bay)
    told = told_of(study)
    told_share = told.analysis.share_of_window["measurement"]
    answer = signed_in(bay.viewer).get(f"/studies/{study.pk}/")
    assert f"scatter over {told_share:.1f} % of the window" in lead(answer)
    assert f"tell {told.analysis.categories} classes" in answer.content.decode()


def test_a_technician_who_reads_high_is_named_with_limits(bay, signed_in):
    study = filled_study(bay, parts=8)
    bay.technician.first_name, bay.technician.last_name = "Orla", "Sedge"
    bay.technician.save()
    for row in study.readings.filter(technician=bay.technician):
        row.travel_mm += 0.08
        row.save()
    text = signed_in(bay.viewer).get(f"/studies/{study.pk}/").content.decode()
    assert "Orla Sedge reads 0.0" in text
    assert "higher than all on average" in text


def test_lengths_are_told_in_the_readers_unit(bay, signed_in):
    study = filled_study(bay)
    repeat = told_of(study).analysis.repeatability
    bay.viewer.length_unit = "thou"
    bay.viewer.save()
    text = signed_in(bay.viewer).get(f"/studies/{study.pk}/").content.decode()
    assert f"{repeat / 0.0254:.3g} thou" in text
    assert "sum of squares, thou²" in text


def test_an_unfinished_study_says_what_is_missing_and_offers_no_publication(bay, signed_in):
    study = read_study(bay, planned_study(bay), but=3)
    text = signed_in(bay.manager).get(f"/studies/{study.pk}/").content.decode()
    assert "17 of 20 readings are entered" in text
    assert "3 of 20 readings are missing" in text
    assert f"/studies/{study.pk}/publish/" not in text
    answer = signed_in(bay.manager).post(f"/studies/{study.pk}/publish/", {"key": "0" * 32, "reason": "x"})
    assert answer.status_code == 409
    assert "3 of 20 readings are missing" in answer.content.decode()
    assert not Publication.objects.exists()


def test_a_viewer_sees_no_work_and_a_technician_no_publication(bay, signed_in):
    study = filled_study(bay)
    acts = {"read", "publish", "set-aside"}

    def offered(user):
        text = signed_in(user).get(f"/studies/{study.pk}/").content.decode()
        return {act for act in acts if f"/studies/{study.pk}/{act}/" in text}

    assert (offered(bay.viewer), offered(bay.technician)) == (set(), {"read"})
    assert offered(bay.manager) == {"read", "publish", "set-aside"}


def test_pages_cost_a_constant_number_of_queries(bay, signed_in, django_assert_max_num_queries):
    people = [str(one.pk) for one in (bay.technician, bay.manager, person(bay.depot, "technician"))]
    study = filled_study(bay, parts=10, trials=3, technicians=people)
    publish_study(study=study, user=bay.manager, reason="The first.")
    client = signed_in(bay.manager)
    for address, most in ((f"/studies/{study.pk}/", 16), (f"/studies/{study.pk}/order/", 8), ("/studies/", 14)):
        with django_assert_max_num_queries(most):
            assert client.get(address).status_code == 200


def test_the_sheet_holds_the_order_the_limits_and_the_cautions(bay, signed_in):
    study = planned_study(bay)
    text = signed_in(bay.technician).get(f"/studies/{study.pk}/order/").content.decode()
    assert text.count("<tr") == 21
    assert "Never above" in text
    assert "Wear eye protection." in text
    assert "manufacturer&#x27;s current service information" in text
    places = [text.index(f'<td class="number">{place}</td>') for place in range(1, 21)]
    assert places == sorted(places)


def test_files_hold_every_reading_and_the_analysis(bay, signed_in):
    study = filled_study(bay)
    client = signed_in(bay.viewer)

    def file(kind):
        answer = client.get(f"/studies/{study.pk}/{kind}.csv")
        assert answer["Content-Type"] == "text/csv; charset=utf-8"
        return list(csv.DictReader(io.StringIO(answer.getvalue().decode("utf-8-sig"))))

    readings = file("readings")
    assert [float(row["travel_mm"]) for row in readings] == [row.travel_mm for row in study.readings.all()]
    analysis = told_of(study).analysis
    variance = {row["source"]: row for row in file("variance")}
    assert float(variance["error"]["sum_of_squares_mm2"]) == pytest.approx(analysis.table[3].sum_of_squares, rel=1e-9)
    components = {row["component"]: row for row in file("components")}
    assert float(components["repeatability"]["standard_deviation_mm"]) == pytest.approx(analysis.repeatability)
    assert client.get(f"/studies/{study.pk}/other.csv").status_code == 404


def test_a_name_that_a_spreadsheet_would_run_is_made_harmless(bay, signed_in):
    study = planned_study(bay, bench_units="=1+1\nBench 2")
    content = signed_in(bay.viewer).get(f"/studies/{study.pk}/readings.csv").getvalue().decode()
    assert ",'=1+1," in content


def test_an_unfinished_study_has_its_readings_as_a_file_alone(bay, signed_in):
    study = planned_study(bay)
    client = signed_in(bay.viewer)
    assert client.get(f"/studies/{study.pk}/readings.csv").status_code == 200
    assert client.get(f"/studies/{study.pk}/variance.csv").status_code == 404


def test_reading_goes_on_place_after_place_and_ends_at_the_study(bay, signed_in):
    study = planned_study(bay, parts=2, trials=2)
    client = signed_in(bay.technician)
    address = f"/studies/{study.pk}/read/"
    for place in range(1, 9):
        page = client.get(address)
        assert f"Place {place}:" in page.content.decode()
        sent = {"place": place, "travel_text": "1.5" + str(place), "travel_unit": "mm"}
        answer = client.post(address, sent)
        assert answer.status_code == 302
        address = answer["Location"]
    assert address == f"/studies/{study.pk}/"
    assert client.get(f"/studies/{study.pk}/read/")["Location"] == address


def test_a_place_may_be_left_for_later(bay, signed_in):
    study = planned_study(bay)
    client = signed_in(bay.technician)
    page = client.get(f"/studies/{study.pk}/read/").content.decode()
    assert 'href="?place=2"' in page
    answer = client.post(f"/studies/{study.pk}/read/", {"place": "2", "travel_text": "1.5", "travel_unit": "mm"})
    assert "Place 3:" in client.get(answer["Location"]).content.decode()
    assert "Place 1:" in client.get(f"/studies/{study.pk}/read/").content.decode()


def test_a_refused_reading_is_shown_as_it_was_typed(bay, signed_in):
    study = planned_study(bay)
    answer = signed_in(bay.technician).post(
        f"/studies/{study.pk}/read/", {"place": "1", "travel_text": "one and a half", "travel_unit": "in"}
    )
    assert answer.status_code == 422
    text = answer.content.decode()
    assert 'value="one and a half"' in text
    assert '<option value="in" selected>' in text
    assert not StudyReading.objects.filter(travel_mm__isnull=False).exists()


def test_a_reading_page_shows_no_reading_made_before(bay, signed_in):
    """Whoever sees what was read before reads towards it."""
    study = read_study(bay, planned_study(bay), but=5)
    typed = set(study.readings.exclude(typed="").values_list("typed", flat=True))
    text = signed_in(bay.technician).get(f"/studies/{study.pk}/read/").content.decode()
    assert not [one for one in typed if one in text]


def test_amendments_and_publications_are_told_with_their_reasons(bay, signed_in):
    study = filled_study(bay)
    amend_reading(
        author=bay.technician, study=study, place=4, entry={"travel": ["1.555", "mm"], "reason": "Read upside down."}
    )
    publish_study(study=study, user=bay.manager, reason="Fresh dial.")
    text = signed_in(bay.viewer).get(f"/studies/{study.pk}/").content.decode()
    assert "Read upside down." in text
    assert "Fresh dial." in text
    assert "Counts since" in text


def test_other_depots_are_told_nothing(bay, signed_in):
    study = filled_study(bay)
    client = signed_in(make_bay().manager)
    for address in ("", "order/", "readings.csv", "read/", "publish/", "readings/1/"):
        assert client.get(f"/studies/{study.pk}/{address}").status_code == 404
    assert study.name not in client.get("/studies/").content.decode()
