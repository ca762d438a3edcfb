"""What a service says when it refuses."""

import pytest

from fleet.problems import FleetError, each_error


def refused(act, **options):
    with pytest.raises(FleetError) as error:
        act(**options)
    return {one.code: one.field for one in each_error(error.value)}
