"""The plotting script is served from the installed package, and nothing else of it."""

from django.contrib.staticfiles import finders

from reports.finders import SERVED, PlottingScriptFinder


def test_the_script_is_found_under_its_one_name():
    place = finders.find(SERVED)
    assert place
    with open(place) as file:
        assert "plotly.js v" in file.read(200)


def test_nothing_else_of_the_package_is_served_or_collected():
    assert finders.find("plotting/widgetbundle.js") is None
    assert finders.find("plotting/../plotly.min.js") is None
    assert [name for name, _ in PlottingScriptFinder().list([])] == ["plotly.min.js"]
