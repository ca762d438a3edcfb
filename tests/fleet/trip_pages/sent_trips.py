"""Files of trips as the tests of their pages send them."""

import re

SIGNS = {"delimiter": ",", "decimal": ".", "time_form": "iso", "zone": "UTC", "cut": ","}
COLUMNS = {f"column-{place}": item for place, item in enumerate(("truck", "start", "duration", "distance", "fuel"))}
READ = SIGNS | COLUMNS | {"unit-2": "h", "unit-3": "km", "unit-4": "L"}


def words(answer):
    """The page's text with single blanks."""
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())
