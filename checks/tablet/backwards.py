"""Certificates, transducer and set-up of the dial, worked backwards: from a value to what an instrument then shows."""

from collections.abc import Callable

from checks.measurement.correction import Channels
from checks.measurement.errors import MeasurementError

BACKWARDS_STEPS = 30


def stimulus_shown(ready: Channels) -> Callable[[float], float]:
    """From a stimulus to what the instrument then shows above its vented indication."""

    def shown(value: float) -> float:
        net = _backwards(lambda at: at - _error(ready.stimulus.error, at), value)
        if ready.meter is None:
            return net
        meter, offset = ready.meter, ready.offset
        read = _backwards(lambda at: at - _error(meter.error, at), offset + ready.sensitivity * net)
        vented = _backwards(lambda at: at - _error(meter.error, at), offset)
        return read - vented

    return shown


def travel_shown(ready: Channels) -> Callable[[float], float]:
    """From a travel along the rod to what the dial then shows above its zero."""
    error = ready.dial.error
    vented = _error(error, 0.0)
    return lambda value: _backwards(lambda at: (at - _error(error, at) + vented) * ready.factor, value)


def _backwards(forwards: Callable[[float], float], wanted: float) -> float:
    """Where `forwards`, which differs little from its argument, gives `wanted`."""
    at = wanted
    for _ in range(BACKWARDS_STEPS):
        off = wanted - forwards(at)
        at += off
        if abs(off) <= 1e-12 * max(1.0, abs(wanted)):
            break
    return at


def _error(error: Callable[[float], float], at: float) -> float:
    """The certificate's error, none where it does not reach."""
    try:
        return error(at)
    except MeasurementError:
        return 0.0
