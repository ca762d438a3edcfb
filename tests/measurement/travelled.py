"""Lines of budgets."""

import math

from checks.measurement.assess import assess
from tests.measurement.making import good_stroke, instruments, specification

ROOT_3 = math.sqrt(3.0)
SPEC = specification()


def lines(result):
    return {line.symbol: line for line in result.budget}


def assessed(made=None, tools=None, **more):
    return assess(made or good_stroke(), SPEC, tools or instruments(), **more)
